"""A browser's microphone as a source of samples: 16-bit pieces at the browser's own rate in, 16 kHz floats out.

A talk that ends is followed by silence, so that the utterance ends as it would at a microphone. Bounded: what nobody
reads in time is dropped, oldest first.
"""

from __future__ import annotations

from queue import Empty, Full, Queue
from typing import TYPE_CHECKING, Any

from assistant.hearing.wav import SAMPLE_RATE_HZ

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MOST_PIECES = 600
# Longer than the longest quiet that an utterance's end may need.
SILENCE_AFTER_S = 1.5
PIECE_S = 0.02


class BrowserSource:
    """Filled from the server's thread, read by the ears'."""

    lost = False

    def __init__(self) -> None:
        self._pieces: Queue[NDArray[np.float32]] = Queue(MOST_PIECES)
        self._resampler: Any = None

    def begin(self, rate_hz: int) -> None:
        """A talk begins, at this many samples a second."""
        import soxr

        self._resampler = soxr.ResampleStream(rate_hz, SAMPLE_RATE_HZ, 1, dtype="float32")

    def put(self, pcm: bytes) -> None:
        """Samples as they come from the browser; left alone where no talk has begun."""
        import numpy as np

        if self._resampler is None:
            return
        samples = np.frombuffer(pcm, dtype="<i2").astype(np.float32) / 32_768
        piece = self._resampler.resample_chunk(samples)
        if len(piece):
            self._put(piece)

    def end(self, *, dropped: bool) -> None:
        """The talk is over; its last word is still heard to its end, unless it is dropped."""
        import numpy as np

        if self._resampler is None:
            return
        last = self._resampler.resample_chunk(np.zeros(0, dtype=np.float32), last=True)
        self._resampler = None
        if dropped:
            return
        # A trace of noise, as any microphone has: digital silence is no place's sound.
        rng = np.random.default_rng(1)
        silence = (rng.standard_normal(round(SILENCE_AFTER_S * SAMPLE_RATE_HZ)) * 1e-4).astype(np.float32)
        for piece in (last, *np.array_split(silence, round(SILENCE_AFTER_S / PIECE_S))):
            if len(piece):
                self._put(piece)

    def read(self, timeout_s: float = 0.1) -> NDArray[np.float32] | None:
        """The next samples; None where none came in time."""
        try:
            return self._pieces.get(timeout=timeout_s)
        except Empty:
            return None

    def _put(self, piece: NDArray[np.float32]) -> None:
        try:
            self._pieces.put_nowait(piece)
        except Full:
            self._pieces.get_nowait()
            self._pieces.put_nowait(piece)
