"""Speech as the bytes of a WAV file, for what plays it elsewhere. Takes samples, gives bytes; touches no disk."""

from __future__ import annotations

import struct
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


class Sampling(Protocol):
    """A mouth that can give its speech as samples."""

    def samples(self, text: str) -> tuple[NDArray[np.int16], int]: ...


def wav_bytes(mouth: Sampling, text: str) -> bytes:
    """The text's speech as a 16-bit mono WAV (RIFF, format 1). Raises SpeakingError."""
    samples, rate_hz = mouth.samples(text)
    pcm = samples.astype("<i2").tobytes()
    head = struct.pack("<4sI4s4sIHHIIHH4sI", b"RIFF", 36 + len(pcm), b"WAVE", b"fmt ", 16, 1, 1, rate_hz, 2 * rate_hz,
                       2, 16, b"data", len(pcm))  # fmt: skip
    return head + pcm
