"""Takes float samples, gives the 16-bit PCM that the engines take, with a trace of noise that is the same every time.

The engines' features need some noise under digital silence. Kaldi adds it from a random generator, so that one file is
heard differently each time; ours depends on the sample's place alone, so that hearing can be repeated.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# One step of 16 bit, as in Kaldi's feature extraction (its option "dither", default 1).
NOISE_STEPS = 1.0
NOISE_PERIOD = 16_411  # a prime above one second of samples


def as_pcm(samples: NDArray[np.float32], *, at: int = 0) -> bytes:
    """16-bit little-endian PCM of samples in -1..1 that begin `at` samples after the start of the utterance."""
    import numpy as np

    noise = np.resize(np.roll(_noise(), -(at % NOISE_PERIOD)), len(samples))
    pcm: bytes = np.clip(np.rint(samples * 32_767 + noise), -32_768, 32_767).astype("<i2").tobytes()
    return pcm


@cache
def _noise() -> NDArray[np.float32]:
    import numpy as np

    return (np.random.default_rng(1).standard_normal(NOISE_PERIOD) * NOISE_STEPS).astype(np.float32)
