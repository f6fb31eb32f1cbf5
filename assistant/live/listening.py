"""The ears at work: a thread that reads a source of samples, finds utterances and hands them on.

While the assistant speaks it is deaf, but for the phrase that stops it. A source that gives nothing is waited for.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from math import log10
from typing import TYPE_CHECKING, Protocol

from assistant.hearing.endpointing import Endpointer
from assistant.hearing.spotting import Spotter
from assistant.live.addressing import Address
from assistant.utterance import Utterance

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# The room goes on sounding for a moment after the loudspeaker stopped.
DEAF_AFTER_SPEAKING_S = 0.25
# The phrase that stopped the voice is noticed before it has died away: its end is no command.
DEAF_AFTER_PHRASE_S = 0.8
SILENCE_DBFS = -90.0


class Source(Protocol):
    """Where samples come from: float32 mono at 16 kHz; None where none came in time. `lost`: its device is away."""

    @property
    def lost(self) -> bool: ...
    def read(self, timeout_s: float = 0.1) -> NDArray[np.float32] | None: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Doing:
    """What the ears are doing: "waiting", "hearing", "deaf"; the words so far; the level in dB of full scale."""

    what: str = "waiting"
    partial: str = ""
    level_dbfs: float = SILENCE_DBFS


class Listening:
    """Runs until `stop`. `hear` takes each utterance that is meant for the assistant; `hush` stops its voice."""

    def __init__(
        self,
        source: Source,
        endpointer: Endpointer,
        address: Address,
        hear: Callable[[Utterance], None],
        *,
        spotter: Spotter,
        hush: Callable[[], bool],
        trouble: Callable[[str], None],
        now_s: Callable[[], float] = time.monotonic,
    ) -> None:
        self._source = source
        self._endpointer = endpointer
        self._address = address
        self._hear = hear
        self._spotter = spotter
        self._hush = hush
        self._trouble = trouble
        self._now_s = now_s
        self._speaking = False
        self._deaf_until_s = 0.0
        self._interrupted = False
        self._ended = threading.Event()
        self._dropping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="ears", daemon=True)
        self.doing = Doing()

    def start(self) -> None:
        """Begins to listen."""
        self._thread.start()

    def stop(self) -> None:
        """Ends listening; returns when the thread has ended."""
        self._ended.set()
        if self._thread.is_alive():
            self._thread.join(timeout=3.0)

    def drop(self) -> None:
        """Forgets the utterance in hand: its speaker is gone, and half a sentence is none."""
        self._dropping.set()

    def speaking(self, begun: bool) -> None:
        """The assistant's voice begins (true) or has ended (false)."""
        if not begun and not self._interrupted:
            self._deaf_until_s = max(self._deaf_until_s, self._now_s() + DEAF_AFTER_SPEAKING_S)
        self._interrupted = False
        self._speaking = begun

    def press(self) -> None:
        """A key: stops the voice, and in the way of the key or the call word begins to listen."""
        self._interrupt()
        self._address.press(self._now_s())

    def hold(self) -> None:
        """A button that is held until `let_go`: stops the voice, and listens as long."""
        self._interrupt()
        self._address.hold(self._now_s())

    def let_go(self) -> None:
        """The button is let go of."""
        self._address.let_go(self._now_s())

    def _interrupt(self) -> None:
        if self._hush():
            self._deaf_until_s = 0.0
            self._interrupted = True
            self._speaking = False

    def _run(self) -> None:
        while not self._ended.is_set():
            samples = self._source.read(0.1)
            if samples is None or not len(samples):
                if self._source.lost and self._endpointer.hearing:
                    self._endpointer.drop()  # the rest of the sentence was not heard: half of it is none
                continue
            try:
                self._take(samples)
            except Exception as error:  # whatever the engine does, the conversation goes on
                self._endpointer.drop()
                self._trouble(f"The ears stumbled ({type(error).__name__}: {error}); listening again.")

    def _take(self, samples: NDArray[np.float32]) -> None:
        now_s = self._now_s()
        if self._dropping.is_set():
            self._dropping.clear()
            self._endpointer.drop()
        if self._speaking or now_s < self._deaf_until_s:
            self._deaf(samples)
            return
        if not self._address.listens(now_s) and not self._endpointer.hearing:
            self._doing("waiting", samples)
            return
        utterance = self._endpointer.accept(samples)
        self._doing("hearing" if self._endpointer.hearing else "waiting", samples)
        if utterance is not None and (meant := self._address.meant(utterance, now_s)) is not None:
            self._hear(meant)
            self._address.turned(self._now_s())

    def _deaf(self, samples: NDArray[np.float32]) -> None:
        if self._endpointer.hearing or self.doing.what != "deaf":
            self._endpointer.drop()
            self._spotter.restart()
        self._doing("deaf", samples)
        if self._spotter.accept(samples):
            self._hush()
            self._spotter.restart()
            self._deaf_until_s = self._now_s() + DEAF_AFTER_PHRASE_S

    def _doing(self, what: str, samples: NDArray[np.float32]) -> None:
        partial = self._endpointer.partial if what == "hearing" else ""
        self.doing = Doing(what=what, partial=partial, level_dbfs=level_dbfs(samples))


def level_dbfs(samples: NDArray[np.float32]) -> float:
    """The level of the samples, dB of full scale."""
    power = float((samples.astype("float64") ** 2).mean()) if len(samples) else 0.0
    return 10 * log10(power) if power > 10 ** (SILENCE_DBFS / 10) else SILENCE_DBFS
