"""How long it has been quiet within an utterance. Takes samples bit by bit; a hiss at a word's end is no quiet.

Voice activity asks whether somebody speaks and leaves out what is as flat as noise; here an "s" or "f" counts as sound.
"""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING

from assistant.hearing.wav import SAMPLE_RATE_HZ

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

FRAME_S = 0.01
FRAME = round(FRAME_S * SAMPLE_RATE_HZ)
# Tuned on the tuning voices, clean and in noise.
ABOVE_FLOOR_DB = 6.0
BELOW_LOUDEST_DB = 34.0
FLOOR_OVER_S = 2.0
QUIETEST_DBFS = -75.0
IN_A_ROW = 2


class Quiet:
    """`quiet_s`: seconds since the last sound that stands above the noise and not too far below the loudest.

    The first difference of the signal is measured, which lifts hisses and drops wind and engines.
    """

    def __init__(self) -> None:
        self._rest: list[NDArray[np.float32]] = []
        self._recent: deque[float] = deque(maxlen=round(FLOOR_OVER_S / FRAME_S))
        self.restart()

    def restart(self) -> None:
        """Begins a new utterance; what is known of the noise stays."""
        self.quiet_s = 0.0
        self._loudest = QUIETEST_DBFS
        self._run = 0

    def accept(self, samples: NDArray[np.float32]) -> None:
        """Takes further samples."""
        import numpy as np

        whole = np.concatenate([*self._rest, samples])
        used = len(whole) // FRAME * FRAME
        self._rest = [whole[used:]]
        frames = np.diff(whole[:used], prepend=whole[:1]).reshape(-1, FRAME)
        for level in 10 * np.log10((frames.astype(np.float64) ** 2).mean(axis=1) + 1e-12):
            self._judge(float(level))

    def _judge(self, level_dbfs: float) -> None:
        self._recent.append(level_dbfs)
        floor = sorted(self._recent)[len(self._recent) // 10]
        self._loudest = max(self._loudest - 0.05, level_dbfs)
        sounds = level_dbfs > max(floor + ABOVE_FLOOR_DB, self._loudest - BELOW_LOUDEST_DB, QUIETEST_DBFS)
        self._run = self._run + 1 if sounds else 0
        self.quiet_s = 0.0 if self._run >= IN_A_ROW else self.quiet_s + FRAME_S
