"""Is somebody speaking? Takes samples bit by bit, gives for how long there has been speech and silence.

Each frame's energy in the speech band is held against a floor that follows the noise; a frame counts as speech when it
stands above the floor and is not as flat as noise. Steady noise, however loud, becomes the floor.
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
WINDOW = 512
BLOCK_FRAMES = 500
# The band that telephony keeps of speech (ITU-T G.711's 300 to 3400 Hz); wind and engines lie mostly below it.
LOWEST_HZ, HIGHEST_HZ = 300.0, 3_400.0
# Tuned on the tuning voices with white, pink and wind-like noise at 0 to 20 dB; see tests/hearing.
ABOVE_FLOOR_DB = 5.0
FLATTEST_SPEECH = 0.45
QUIETEST_SPEECH_DBFS = -70.0
FLOOR_OVER_S = 1.5
ONSET_FRAMES = 3
# For `may_hold_speech`: ten minutes of white or pink noise spread over 3.1 dB at most, speech 5 dB below such noise
# over 4.1 dB at least (106 recordings of people; the test repeats it).
LEAST_SPREAD_DB = 3.5
# And for noise that comes in gusts: ten minutes of it have no three frames in a row below this, speech always has.
FLATTEST_VOICE = 0.45
SMOOTHED_FRAMES = 3
# A voice is breath and many harmonics. The least pure tenth of its loud frames is flatter than 0.0044 (250 synthetic
# commands without any noise; 317 recordings of people 0.0096); of whistles and knocks it is mostly below 0.003.
PUREST_VOICE = 0.003
NEAR_LOUDEST_DB = 12.0
# Talk is heard as words. Where this much stands out of the noise for each word heard, it is wind, or an engine: of
# commands of one or two words, babble and wind around them counted too, no word had more than 1.7 s.
MOST_S_A_WORD = 2.5


class VoiceActivity:
    """Follows one microphone. `speaking` after three frames of speech in a row, for as long as pauses stay short.

    `silence_s`: since the last frame of speech (since the start where there was none). `speech_s`: speech heard since
    `restart`.
    """

    def __init__(self) -> None:
        self._rest: list[NDArray[np.float32]] = []
        self._recent: deque[float] = deque(maxlen=round(FLOOR_OVER_S / FRAME_S))
        self.restart()

    def restart(self) -> None:
        """Begins a new utterance; what is known of the noise stays."""
        self._run = 0
        self.speech_s = 0.0
        self.silence_s = 0.0
        self.heard_speech = False

    def accept(self, samples: NDArray[np.float32]) -> tuple[bool, ...]:
        """Speech or not, for each whole frame of 20 ms that these samples complete."""
        import numpy as np

        whole = np.concatenate([*self._rest, samples])
        used = len(whole) // FRAME * FRAME
        self._rest = [whole[used:]]
        energies_dbfs, flatness = measured(whole[:used])
        return tuple(self._judged(float(e), float(f)) for e, f in zip(energies_dbfs, flatness, strict=True))

    def speaking(self, *, pause_s: float = 0.5) -> bool:
        """Has speech begun, and has there been no pause of this length since?"""
        return self.heard_speech and self.silence_s < pause_s

    def _judged(self, energy_dbfs: float, flatness: float) -> bool:
        self._recent.append(energy_dbfs)
        loud = energy_dbfs > max(self._floor_dbfs() + ABOVE_FLOOR_DB, QUIETEST_SPEECH_DBFS)
        speech = loud and flatness < FLATTEST_SPEECH
        self._run = self._run + 1 if speech else 0
        if self._run >= ONSET_FRAMES:
            self.speech_s += FRAME_S * (ONSET_FRAMES if self._run == ONSET_FRAMES else 1)
            self.silence_s = 0.0
            self.heard_speech = True
        else:
            self.silence_s += FRAME_S
        return speech

    def _floor_dbfs(self) -> float:
        """The noise: a low rank of the last second and a half, which holds pauses even while somebody speaks."""
        return sorted(self._recent)[len(self._recent) // 10]


def measured(samples: NDArray[np.float32]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """For each whole frame: energy in the speech band (dB of full scale), and its flatness (0 tone, 1 noise)."""
    import numpy as np

    frames = samples[: len(samples) // FRAME * FRAME].reshape(-1, FRAME)
    blocks = [_block(frames[at : at + BLOCK_FRAMES]) for at in range(0, len(frames), BLOCK_FRAMES)]
    energies, flatness = zip(*blocks, strict=True) if blocks else ((np.zeros(0),), (np.zeros(0),))
    return np.concatenate(energies), np.concatenate(flatness)


def _block(frames: NDArray[np.float32]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    import numpy as np

    power = np.abs(np.fft.rfft(frames * np.hanning(FRAME), WINDOW, axis=1)) ** 2 / (FRAME * FRAME / 8) + 1e-14
    lowest, highest = (round(hz * WINDOW / SAMPLE_RATE_HZ) for hz in (LOWEST_HZ, HIGHEST_HZ))
    band = power[:, lowest:highest]
    flatness = np.exp(np.log(band).mean(axis=1)) / band.mean(axis=1)
    return 10 * np.log10(band.sum(axis=1)), flatness


def may_hold_speech(samples: NDArray[np.float32]) -> bool:
    """False only for what surely holds none: silence, noise steadier or flatter than speech, tones purer than a voice.

    A gate before the recogniser. It lets all else through (low wind, knocks, talk): losing a command is worse than
    decoding noise.
    """
    import numpy as np

    energies_dbfs, flatness = measured(samples)
    if len(energies_dbfs) < ONSET_FRAMES:
        return False
    voiced = np.convolve(flatness < FLATTEST_VOICE, np.ones(ONSET_FRAMES), mode="valid").max() == ONSET_FRAMES
    smooth = np.convolve(energies_dbfs, np.full(ONSET_FRAMES, 1 / ONSET_FRAMES), mode="valid")
    low, high = np.percentile(smooth, 10), smooth.max()
    uneven = bool(voiced and high > QUIETEST_SPEECH_DBFS and high - low > LEAST_SPREAD_DB)
    return uneven and _least_pure(smooth, flatness) > PUREST_VOICE


def _least_pure(smooth_dbfs: NDArray[np.float64], flatness: NDArray[np.float64]) -> float:
    """How flat the spectrum is in the least pure tenth of the loud frames."""
    import numpy as np

    loud = smooth_dbfs > np.percentile(smooth_dbfs, 95) - NEAR_LOUDEST_DB
    return float(np.percentile(flatness[ONSET_FRAMES // 2 :][: len(loud)][loud], 90))


def is_talk(speech_s: float, words: int) -> bool:
    """Whether so many words account for so long a sound that stands out of the noise."""
    return speech_s <= MOST_S_A_WORD * words


def stands_out_s(samples: NDArray[np.float32]) -> float:
    """For how long something stands out of the noise as speech does."""
    activity = VoiceActivity()
    activity.accept(samples)
    return activity.speech_s


def speech_range_dbfs(samples: NDArray[np.float32]) -> tuple[float, float]:
    """How loud it is between the words, and how loud the words are, in the speech band (dB of full scale)."""
    import numpy as np

    low, high = np.percentile(loudness_dbfs(samples), (10, 95))
    return float(low), float(high)


def loudness_dbfs(samples: NDArray[np.float32]) -> NDArray[np.float64]:
    """For each frame, its energy in the speech band over SMOOTHED_FRAMES."""
    import numpy as np

    energies_dbfs, _ = measured(samples)
    return np.convolve(energies_dbfs, np.full(SMOOTHED_FRAMES, 1 / SMOOTHED_FRAMES), mode="same")
