"""An audience of the web page's hub that holds what it is given against what it may be given; and bytes as frames.

Takes bytes, a frame a line, from two browsers in turn; a line that begins with a byte of zero is a frame of samples.
"""

from __future__ import annotations

from typing import Any

from assistant.screens.web.hub import HIGHEST_RATE_HZ, LONGEST_TEXT, LOWEST_RATE_HZ, MOST_NONSENSE, Browser, Hub

WHOLE = (
    b'{"type": "text", "text": "sats ninety four"}\n\n{"type": "talk", "on": true, "rate": 16000}\n\n\x00\x01\x02\n'
    b'{"type": "talk", "on": true, "rate": 48000}\n{"type": "talk", "on": false, "drop": true}\n{"type": "hush"}',
    b'{"type": "talk", "on": true, "rate": 8000}\n\x00abcd\n{"type": "talk", "on": true, "rate": 192000}\n\x00abcd',
)


class Listener:
    """The audience."""

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


def opened() -> tuple[Hub, Listener]:
    """A hub with its audience, in no event loop: messages are queued at once."""
    hub, listener = Hub(), Listener()
    hub.opened(None, listener)  # type: ignore[arg-type]
    hub._loop = None
    return hub, listener


def taken(hub: Hub, browser: Browser, frame: str | bytes) -> bool:
    """Whether the browser may stay after this frame."""
    stays = hub.take_text(browser, frame) if isinstance(frame, str) else hub.take_bytes(browser, frame)
    assert stays == (browser.nonsense <= MOST_NONSENSE)
    return stays


def sent(content: bytes) -> None:
    """All frames of the bytes, until a browser is let go; then both leave."""
    hub, listener = opened()
    browsers = hub.welcome(), hub.welcome()
    for number, line in enumerate(content.split(b"\n")):
        frame = line[1:] if line.startswith(b"\0") else line.decode("utf-8", errors="replace")
        if not taken(hub, browsers[number % 2], frame):
            break
    for browser in browsers:
        hub.farewell(browser)
    assert hub.count == 0
    assert not listener.talking, "whoever leaves talks no more"
