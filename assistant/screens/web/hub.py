"""The browsers that see the incident: who is there, who has the microphone, what each of them is told.

Lives in the event loop; `post` and `show` may be called from any thread. Takes what browsers send, refuses nonsense.
"""

from __future__ import annotations

import asyncio
import json
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Protocol

KEPT_LINES = 300
LONGEST_TEXT = 500
# A browser that takes nothing for so many messages is let go; it comes back by itself.
MOST_WAITING = 400
MOST_NONSENSE = 50
LOWEST_RATE_HZ, HIGHEST_RATE_HZ = 8_000, 192_000


class Audience(Protocol):
    """What the hub does with what browsers send."""

    def typed(self, text: str) -> None: ...
    def talk(self, rate_hz: int) -> None: ...
    def samples(self, pcm: bytes) -> None: ...
    def talked(self, *, dropped: bool) -> None: ...
    def snapshot(self) -> list[dict[str, Any]]: ...


@dataclass(eq=False, slots=True)
class Browser:
    """One open page: what waits to be sent to it, and how much nonsense it sent."""

    waiting: asyncio.Queue[str] = field(default_factory=lambda: asyncio.Queue(MOST_WAITING))
    nonsense: int = 0
    gone: bool = False


class Hub:
    """All browsers of one incident."""

    def __init__(self) -> None:
        self._browsers: set[Browser] = set()
        self._lines: deque[dict[str, Any]] = deque(maxlen=KEPT_LINES)
        self._talker: Browser | None = None
        self._loop: asyncio.AbstractEventLoop | None = None
        self._audience: Audience | None = None

    def opened(self, loop: asyncio.AbstractEventLoop, audience: Audience) -> None:
        """The server runs in this loop from now on."""
        self._loop, self._audience = loop, audience

    def post(self, message: dict[str, Any]) -> None:
        """Send to every browser, from any thread; lines are kept for those that come later."""
        if self._loop is None:
            self._posted(message)
        elif not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._posted, message)

    def _posted(self, message: dict[str, Any]) -> None:
        """Kept and sent in one go, so that a browser that comes just now gets a line once."""
        if message["type"] == "line":
            self._lines.append(message)
        self._send_all(json.dumps(message, ensure_ascii=False))

    @property
    def count(self) -> int:
        """How many browsers are there."""
        return len(self._browsers)

    def welcome(self) -> Browser:
        """A new browser: it is told everything so far."""
        browser = Browser()
        self._browsers.add(browser)
        assert self._audience is not None
        for message in ({"type": "hello", "lines": list(self._lines)}, self._microphone(browser)):
            self._send(browser, json.dumps(message, ensure_ascii=False))
        for message in self._audience.snapshot():
            self._send(browser, json.dumps(message, ensure_ascii=False))
        return browser

    def farewell(self, browser: Browser) -> None:
        """A browser is gone; a word that it had half spoken is not taken."""
        self._browsers.discard(browser)
        if self._talker is browser:
            self._let_go(dropped=True)

    def take_text(self, browser: Browser, text: str) -> bool:
        """A message of a browser; false where it sent so much nonsense that it is to be let go."""
        try:
            message = json.loads(text)
            kind = message["type"]
        except (ValueError, TypeError, KeyError, RecursionError):
            return self._nonsense(browser)
        handlers: dict[str, Callable[[Browser, dict[str, Any]], bool]] = {
            "text": self._typed, "talk": self._talk, "hush": self._hush,
        }  # fmt: skip
        handler = handlers.get(kind) if isinstance(kind, str) else None
        return self._nonsense(browser) if handler is None else handler(browser, message)

    def take_bytes(self, browser: Browser, pcm: bytes) -> bool:
        """Samples of a browser's microphone: 16-bit little-endian mono. Others than the talker's are left alone."""
        if len(pcm) % 2 or not pcm:
            return self._nonsense(browser)
        if browser is self._talker and self._audience is not None:
            self._audience.samples(pcm)
        return True

    def _typed(self, browser: Browser, message: dict[str, Any]) -> bool:
        text = message.get("text")
        if not isinstance(text, str) or not text.strip() or len(text) > LONGEST_TEXT:
            return self._nonsense(browser)
        assert self._audience is not None
        self._audience.typed(text)
        return True

    def _talk(self, browser: Browser, message: dict[str, Any]) -> bool:
        if message.get("on") is not True:
            if browser is self._talker:
                self._let_go(dropped=message.get("drop") is True)
            return True
        rate_hz = message.get("rate")
        if not isinstance(rate_hz, int) or not LOWEST_RATE_HZ <= rate_hz <= HIGHEST_RATE_HZ:
            return self._nonsense(browser)
        if self._talker not in (None, browser):
            why = "Another screen's microphone is in use. Type, or wait until it is let go."
            self._send(browser, json.dumps({"type": "refused", "what": "microphone", "why": why}))
            return True
        assert self._audience is not None
        self._talker = browser
        self._audience.talk(rate_hz)
        self._tell_microphone()
        return True

    def _hush(self, browser: Browser, message: dict[str, Any]) -> bool:
        self._send_all(json.dumps({"type": "hush"}))
        return True

    def _let_go(self, *, dropped: bool) -> None:
        self._talker = None
        assert self._audience is not None
        self._audience.talked(dropped=dropped)
        self._tell_microphone()

    def _nonsense(self, browser: Browser) -> bool:
        browser.nonsense += 1
        return browser.nonsense <= MOST_NONSENSE

    def _microphone(self, browser: Browser) -> dict[str, Any]:
        whose = "nobody" if self._talker is None else "yours" if self._talker is browser else "another"
        return {"type": "microphone", "whose": whose}

    def _tell_microphone(self) -> None:
        for browser in list(self._browsers):
            self._send(browser, json.dumps(self._microphone(browser)))

    def _send_all(self, text: str) -> None:
        for browser in list(self._browsers):
            self._send(browser, text)

    def _send(self, browser: Browser, text: str) -> None:
        try:
            browser.waiting.put_nowait(text)
        except asyncio.QueueFull:
            browser.gone = True
            self.farewell(browser)
