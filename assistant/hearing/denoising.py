"""Takes steady noise out of a stretch of speech, for a second hearing of it: samples in, as many samples out.

Short-time Wiener filtering with the decision-directed estimate of the signal-to-noise ratio (Ephraim and Malah, IEEE
Trans. ASSP 32, 1984). The noise is what stands in each band while least is heard in it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

WINDOW = 512
HOP = WINDOW // 4
# The noise of a band: this share of its frames have less, which is so many times below the noise's mean power.
QUIETEST_SHARE = 0.2
BELOW_MEAN = 1.6
# How far the ratio of the frame before is believed; Ephraim and Malah's own choice.
BEFORE = 0.98
# What is left of a band in which there is only noise. On 109 tuning commands at pink 5 dB, together with the first
# hearing, 0.05 was right in 92 %, this in 91 % and 0.4 in 85 %.
LEFT = 0.15
_TINY = 1e-12


def without_steady_noise(samples: NDArray[np.float32]) -> NDArray[np.float32]:
    """`samples` (float32 mono at 16 kHz) with its steady noise lowered; the same length."""
    import numpy as np

    if not len(samples):
        return samples
    window = np.hanning(WINDOW + 1)[:-1]
    padded = np.concatenate([np.zeros(WINDOW), samples, np.zeros(WINDOW + HOP)])
    frames = np.lib.stride_tricks.sliding_window_view(padded, WINDOW)[::HOP] * window
    spectra = np.fft.rfft(frames, axis=1)
    gains = _gains(np.abs(spectra) ** 2)
    cleaned = np.fft.irfft(spectra * gains, n=WINDOW, axis=1) * window
    whole = np.zeros((len(cleaned) + WINDOW // HOP, HOP))
    for part in range(WINDOW // HOP):
        whole[part : part + len(cleaned)] += cleaned[:, part * HOP : (part + 1) * HOP]
    # Four overlapping squares of this window add up to one and a half everywhere.
    said = whole.ravel()[WINDOW : WINDOW + len(samples)] / 1.5
    return said.astype(np.float32)


def _gains(powers: NDArray[np.float64]) -> NDArray[np.float64]:
    """How much of each band (column) of each frame (row) is kept."""
    import numpy as np

    noise = np.maximum(np.percentile(powers, 100 * QUIETEST_SHARE, axis=0) * BELOW_MEAN, _TINY)
    now = powers / noise
    gains = np.empty_like(powers)
    before = np.ones(powers.shape[1])
    for at, ratio in enumerate(now):
        speech = BEFORE * before + (1 - BEFORE) * np.maximum(ratio - 1, 0)
        gains[at] = np.maximum(speech / (1 + speech), LEFT)
        before = gains[at] ** 2 * ratio
    return gains
