"""What is to be said, the most urgent first: a thread of its own speaks, so that nobody waits for the voice.

An alert cuts into a reply, which is said again after it; a newer reply takes the place of an older one still waiting.
A voice that fails is told once and never stops the conversation.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, field

from assistant.speaking.mouth import Mouth, SpeakingError

# The lower the sooner. Alerts by their priority, then what answers the user.
RANKS = {"high": 0, "medium": 1, "low": 2, "prompt": 3, "reply": 4}
FIRST_TO_CUT_IN = RANKS["medium"]
HUSHED_EVERY_S = 0.05


@dataclass(slots=True, kw_only=True)
class _Saying:
    rank: int
    number: int
    text: str
    cut: bool = field(default=False)
    dropped: bool = field(default=False)


class SpeechQueue:
    """Speaks what is given, from its own thread. `on_change` is told when speaking begins (true) and ends (false)."""

    def __init__(
        self,
        mouth: Mouth,
        *,
        on_change: Callable[[bool], None] = lambda speaking: None,
        on_failure: Callable[[str], None] = lambda why: None,
    ) -> None:
        self._mouth = mouth
        self._on_change = on_change
        self._on_failure = on_failure
        self._failed = False
        self._number = 0
        self._waiting: list[_Saying] = []
        self._now: _Saying | None = None
        self._ended = False
        self._changed = threading.Condition()
        self._thread = threading.Thread(target=self._run, name="voice", daemon=True)
        self._thread.start()

    def say(self, text: str, what: str) -> None:
        """Puts the text in its place; `what` is an alert's priority, "prompt" or "reply"."""
        if not text:
            return
        rank = RANKS[what]
        with self._changed:
            self._number += 1
            if rank == RANKS["reply"]:
                self._waiting = [each for each in self._waiting if each.rank != rank]
            self._waiting.append(_Saying(rank=rank, number=self._number, text=text))
            if self._now is not None and self._gives_way(self._now, rank):
                self._now.cut = True
                self._stop(self._now)
            self._changed.notify_all()

    def hush(self) -> bool:
        """Stops at once and drops what waits; whether anything was being said."""
        with self._changed:
            was = self._now is not None or bool(self._waiting)
            self._waiting.clear()
            if self._now is not None:
                self._now.dropped = True
                self._stop(self._now)
        return was

    @property
    def speaking(self) -> bool:
        """Whether something is being said or waits to be."""
        with self._changed:
            return self._now is not None or bool(self._waiting)

    def close(self, *, wait_s: float = 0.0) -> None:
        """Ends the voice, after what waits where it takes no longer than `wait_s`."""
        with self._changed:
            self._changed.wait_for(lambda: self._now is None and not self._waiting, timeout=wait_s)
            self._ended = True
            self._waiting.clear()
            if self._now is not None:
                self._stop(self._now)
            self._changed.notify_all()
        self._thread.join(timeout=2.0)

    def _stop(self, saying: _Saying) -> None:
        """Hushes until it is quiet: a mouth that has not begun to sound yet, but is about to, must not go on."""

        def hush() -> None:
            with self._changed:
                while self._now is saying:
                    self._mouth.hush()
                    self._changed.wait(HUSHED_EVERY_S)

        self._mouth.hush()
        threading.Thread(target=hush, name="hush", daemon=True).start()

    @staticmethod
    def _gives_way(now: _Saying, rank: int) -> bool:
        """An alert cuts into what is less urgent; a reply into an older reply."""
        return (rank <= FIRST_TO_CUT_IN and rank < now.rank) or rank == now.rank == RANKS["reply"]

    def _run(self) -> None:
        while (saying := self._next()) is not None:
            self._say(saying)
            self._done(saying)

    def _next(self) -> _Saying | None:
        with self._changed:
            self._changed.wait_for(lambda: self._ended or bool(self._waiting))
            if self._ended:
                return None
            self._now = min(self._waiting, key=lambda each: (each.rank, each.number))
            self._waiting.remove(self._now)
            return self._now

    def _say(self, saying: _Saying) -> None:
        self._on_change(True)
        try:
            self._mouth.speak(saying.text)
        except (SpeakingError, OSError, RuntimeError) as error:
            if not self._failed:
                self._failed = True
                self._on_failure(f"The voice fails ({error}): replies are written, not spoken.")

    def _done(self, saying: _Saying) -> None:
        with self._changed:
            self._now = None
            newer = any(each.rank == saying.rank for each in self._waiting)
            replaced = saying.dropped or (saying.rank == RANKS["reply"] and newer)
            if saying.cut and not self._ended and not replaced:
                saying.cut = False
                self._waiting.append(saying)
            quiet = not self._waiting
            self._changed.notify_all()
        if quiet:
            self._on_change(False)
