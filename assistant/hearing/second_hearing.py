"""The second hearing while the sound still comes: takes samples, and hears them with their steady noise taken out.

So what is left to hear at the end is a fraction of a second, and the reply need not wait for the whole once more. What
the noise is is known from what came so far: the first words are cleaned a little otherwise than at the end.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from assistant.hearing.denoising import WINDOW, without_steady_noise
from assistant.hearing.heard_twice import is_clear
from assistant.hearing.pcm import as_pcm
from assistant.hearing.wav import SAMPLE_RATE_HZ

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# Before so much is heard nothing is known of the noise between the words.
FIRST_S = 0.8
# Heard in steps of this; the shorter, the less is left for the end, and the more often the noise is measured.
STEP_S = 0.2
# The noise is measured in what came last: of twenty seconds each time, it would take a seventh of the processor.
LOOKED_BACK_S = 8.0
# What lies further back, as after a trial that came to nothing, is made up for step by step: the first hearing waits.
MOST_A_STEP_S = 0.8


class SecondHearing:
    """One utterance as a second vosk recogniser hears it, opened when the sound turns out to be noisy."""

    def __init__(self, opened: Callable[[], Any]) -> None:
        self._opened = opened
        self._ear: Any = None
        self._looked_at = 0
        self._fed = 0

    def follow(self, pieces: list[NDArray[np.float32]], count: int) -> None:
        """Hears what has come since the last step; `pieces` is all the sound so far, of `count` samples."""
        if count < FIRST_S * SAMPLE_RATE_HZ or count - self._looked_at < STEP_S * SAMPLE_RATE_HZ:
            return
        self._looked_at = count
        last = _last(pieces, max(count - self._fed, round(LOOKED_BACK_S * SAMPLE_RATE_HZ)))
        if self._ear is not None or not is_clear(last):
            # A window's length before the end may change when more is known.
            until = min(count - WINDOW, self._fed + round(MOST_A_STEP_S * SAMPLE_RATE_HZ))
            self._feed(without_steady_noise(last), count, until)

    def finish(self, whole: NDArray[np.float32]) -> str:
        """Hears the rest; what the recogniser says of all of it."""
        self._feed(without_steady_noise(whole), len(whole), len(whole))
        result: str = self._ear.FinalResult()
        self._ear = None
        return result

    def _feed(self, cleaned: NDArray[np.float32], count: int, until: int) -> None:
        """`cleaned` are the last of `count` samples; those up to `until` are heard that were not."""
        if self._ear is None:
            self._ear = self._opened()
        began = count - len(cleaned)
        self._ear.AcceptWaveform(as_pcm(cleaned[self._fed - began : until - began], at=self._fed))
        self._fed = until


def _last(pieces: list[NDArray[np.float32]], most: int) -> NDArray[np.float32]:
    """The last samples of the pieces, `most` of them at most."""
    import numpy as np

    wanted, found = list[Any](), 0
    for piece in reversed(pieces):
        wanted.append(piece)
        found += len(piece)
        if found >= most:
            break
    last: NDArray[np.float32] = np.concatenate(wanted[::-1])[-most:]
    return last
