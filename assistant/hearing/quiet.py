"""How long it has been quiet within an utterance. Takes samples bit by bit; a hiss at a word's end is no quiet.

Voice activity asks whether somebody speaks and leaves out what is as flat as noise; here an "s" or "f" counts as sound.
Each of several bands is held against its own noise, so that a vowel is found under a hiss, and a hiss over a rumble.
"""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING

from assistant.hearing.wav import SAMPLE_RATE_HZ

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

FRAME_S = 0.02
FRAME = round(FRAME_S * SAMPLE_RATE_HZ)
BANDS_HZ = ((200.0, 700.0), (700.0, 1500.0), (1500.0, 3000.0), (3000.0, 7500.0))
# Tuned on the tuning voices, clean and in noise.
ABOVE_FLOOR_DB = 7.0
BELOW_LOUDEST_DB = 32.0
FLOOR_OVER_S = 2.0
FLOOR_RANK = 0.15
QUIETEST_DBFS = -80.0


class Quiet:
    """`quiet_s`: seconds since the last sound that stands above the noise and not too far below the loudest.

    `headroom_db`: how far the loudest stands above the noise.
    """

    def __init__(self) -> None:
        self._rest: list[NDArray[np.float32]] = []
        self._recent: deque[NDArray[np.float64]] = deque(maxlen=round(FLOOR_OVER_S / FRAME_S))
        self.restart()

    def restart(self) -> None:
        """Begins a new utterance; what is known of the noise stays."""
        self.quiet_s = 0.0
        self.headroom_db = 0.0

    def accept(self, samples: NDArray[np.float32]) -> None:
        """Takes further samples."""
        import numpy as np

        whole = np.concatenate([*self._rest, samples])
        used = len(whole) // FRAME * FRAME
        self._rest = [whole[used:]]
        for levels in _levels_dbfs(whole[:used].reshape(-1, FRAME)):
            self._judge(levels)

    def _judge(self, levels_dbfs: NDArray[np.float64]) -> None:
        import numpy as np

        self._recent.append(levels_dbfs)
        history = np.stack(self._recent)
        floor = np.sort(history, axis=0)[int(FLOOR_RANK * len(history))]
        loudest = history.max(axis=0)
        least = np.maximum(np.maximum(floor + ABOVE_FLOOR_DB, loudest.max() - BELOW_LOUDEST_DB), QUIETEST_DBFS)
        self.headroom_db = float((loudest - floor).max())
        self.quiet_s = 0.0 if bool((levels_dbfs > least).any()) else self.quiet_s + FRAME_S


def _levels_dbfs(frames: NDArray[np.float32]) -> NDArray[np.float64]:
    """For each frame and band, the power in dB of full scale."""
    import numpy as np

    if not len(frames):
        return np.zeros((0, len(BANDS_HZ)))
    power = np.abs(np.fft.rfft(frames * np.hanning(FRAME), axis=1)) ** 2 / (FRAME * FRAME / 8)
    edges = [tuple(round(hz * FRAME / SAMPLE_RATE_HZ) for hz in band) for band in BANDS_HZ]
    levels: NDArray[np.float64] = 10 * np.log10(
        np.stack([power[:, low:high].sum(axis=1) for low, high in edges], axis=1) + 1e-12
    )
    return levels
