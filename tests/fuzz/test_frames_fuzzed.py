"""Whatever frames two browsers send, the hub bears them, and hands on only what makes sense, from whom it may."""

from __future__ import annotations

from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.screens.web.hub import HIGHEST_RATE_HZ, LONGEST_TEXT, LOWEST_RATE_HZ, MOST_NONSENSE, Browser, Hub
from tests.fuzz.frames import FRAMES


class Listener:
    """The audience, which holds what it is given against what it may be given."""

    def __init__(self) -> None:
        self.talking = False
        self.texts = 0

    def typed(self, text: str) -> None:
        assert text.strip()
        assert len(text) <= LONGEST_TEXT
        self.texts += 1

    def talk(self, rate_hz: int) -> None:
        assert type(rate_hz) is int
        assert LOWEST_RATE_HZ <= rate_hz <= HIGHEST_RATE_HZ
        self.talking = True

    def samples(self, pcm: bytes) -> None:
        assert self.talking, "samples of nobody who talks"
        assert pcm
        assert len(pcm) % 2 == 0

    def talked(self, *, dropped: bool) -> None:
        assert self.talking
        self.talking = False

    def snapshot(self) -> list[dict[str, Any]]:
        return []


def taken(hub: Hub, browser: Browser, frame: str | bytes) -> bool:
    return hub.take_text(browser, frame) if isinstance(frame, str) else hub.take_bytes(browser, frame)


@settings(max_examples=300, deadline=None)
@given(FRAMES, FRAMES)
def test_the_hub_hands_on_only_what_makes_sense(one: list[str | bytes], other: list[str | bytes]) -> None:
    hub, listener = Hub(), Listener()
    hub.opened(None, listener)  # type: ignore[arg-type]
    hub._loop = None  # nothing runs in a loop here: messages are queued at once
    first, second = hub.welcome(), hub.welcome()
    for frames in zip(one, other, strict=False):
        for browser, frame in zip((first, second), frames, strict=True):
            assert taken(hub, browser, frame) == (browser.nonsense <= MOST_NONSENSE)
    hub.farewell(first)
    hub.farewell(second)
    assert hub.count == 0
    assert not listener.talking, "whoever leaves talks no more"


@given(st.lists(st.sampled_from(['{"type": "text", "text": "done"}', '{"type": "talk", "on": true, "rate": 8000}'])))
def test_what_makes_sense_is_handed_on(frames: list[str]) -> None:
    hub, listener = Hub(), Listener()
    hub.opened(None, listener)  # type: ignore[arg-type]
    hub._loop = None
    browser = hub.welcome()
    assert all(taken(hub, browser, frame) for frame in frames)
    assert listener.texts == sum('"text"' in frame for frame in frames)
    assert browser.nonsense == 0
