"""Whatever frames two browsers send, the hub bears them, and hands on only what makes sense, from whom it may."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.fuzz.audience import opened, taken
from tests.fuzz.frames import FRAMES


@settings(max_examples=300, deadline=None)
@given(FRAMES, FRAMES)
def test_the_hub_hands_on_only_what_makes_sense(one: list[str | bytes], other: list[str | bytes]) -> None:
    hub, listener = opened()
    first, second = hub.welcome(), hub.welcome()
    for frames in zip(one, other, strict=False):
        for browser, frame in zip((first, second), frames, strict=True):
            taken(hub, browser, frame)
    hub.farewell(first)
    hub.farewell(second)
    assert hub.count == 0
    assert not listener.talking, "whoever leaves talks no more"


@given(st.lists(st.sampled_from(['{"type": "text", "text": "done"}', '{"type": "talk", "on": true, "rate": 8000}'])))
def test_what_makes_sense_is_handed_on(frames: list[str]) -> None:
    hub, listener = opened()
    browser = hub.welcome()
    assert all(taken(hub, browser, frame) for frame in frames)
    assert listener.texts == sum('"text"' in frame for frame in frames)
    assert browser.nonsense == 0
