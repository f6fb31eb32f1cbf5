"""What wind, rotors, other people and a radio do to speech: takes clean speech, gives it in one of eight conditions.

16 kHz mono float arrays in and out. The signal-to-noise ratio is that of the speech's active level (mean power of the
20 ms frames within 25 dB of the loud ones, near to ITU-T P.56 in spirit) over the noise's mean power across the whole
utterance. Everything is drawn from the seed that is given: the same seed makes the same samples.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

RATE_HZ = 16_000
LEAD_S, TAIL_S = 0.35, 0.45  # of the place's own sound before and after the words
ACTIVE_DBFS = -24.0
ROOM_DBFS = -70.0
RADIO_LOW_HZ, RADIO_HIGH_HZ = 300.0, 3400.0
KEYED_LATE_S = (0.02, 0.06)
FRAME = RATE_HZ // 50

Samples = npt.NDArray[np.float64]
Random = np.random.Generator


def active_power(speech: Samples) -> float:
    """Mean power of the frames that hold speech: those within 25 dB of the 95th percentile of frame power."""
    whole = speech[: len(speech) // FRAME * FRAME].reshape(-1, FRAME)
    power = np.mean(np.square(whole), axis=1)
    return float(np.mean(power[power > np.percentile(power, 95) / 10**2.5]))


def levelled(speech: Samples) -> Samples:
    """The speech at ACTIVE_DBFS."""
    return speech * np.sqrt(10 ** (ACTIVE_DBFS / 10) / active_power(speech))


def padded(speech: Samples) -> Samples:
    """The speech between LEAD_S and TAIL_S of silence, for the place's sound to fill."""
    return np.concatenate([np.zeros(round(LEAD_S * RATE_HZ)), speech, np.zeros(round(TAIL_S * RATE_HZ))])


def mixed(speech: Samples, noise: Samples, snr_db: float) -> Samples:
    """Speech with the noise brought to `snr_db` below its active level."""
    noise_power = float(np.mean(np.square(noise)))
    return speech + noise * np.sqrt(active_power(speech) / noise_power / 10 ** (snr_db / 10))


def _shaped(count: int, rng: Random, gain: Callable[[Samples], Samples]) -> Samples:
    """White noise whose spectrum is multiplied by `gain` of the frequency in Hz."""
    spectrum = np.fft.rfft(rng.standard_normal(count))
    frequency_hz = np.fft.rfftfreq(count, 1 / RATE_HZ)
    shaped = np.fft.irfft(spectrum * gain(np.maximum(frequency_hz, 1.0)), count)
    return shaped / np.sqrt(np.mean(np.square(shaped)))


def pink(count: int, rng: Random) -> Samples:
    """Noise of equal power in each octave from 40 Hz up."""
    return _shaped(count, rng, lambda hz: np.where(hz < 40, 0.0, hz**-0.5))


def _swell(count: int, rng: Random, period_s: float) -> Samples:
    """A slow, always positive curve around 1 that rises and falls about once in `period_s`."""
    knots = max(4, round(count / RATE_HZ / period_s * 2) + 2)
    levels = np.exp(rng.normal(0.0, 0.9, knots))
    return np.interp(np.arange(count), np.linspace(0, count, knots), levels)


def wind(count: int, rng: Random) -> Samples:
    """Gusts on a microphone: rumble that falls by 12 dB an octave above 80 Hz, and 18 dB below it a broad hiss."""
    rumble = _shaped(count, rng, lambda hz: 1.0 / (1.0 + (hz / 80.0) ** 2))
    return (rumble + 10 ** (-18 / 20) * pink(count, rng)) * _swell(count, rng, 1.2)


def rotor(count: int, rng: Random) -> Samples:
    """A helicopter nearby: harmonics of the blade rate, air noise that beats with it, and the whine of a turbine."""
    at_s = np.arange(count) / RATE_HZ
    blade_hz = rng.uniform(16.0, 26.0)
    phase = 2 * np.pi * blade_hz * at_s + 0.3 * np.sin(2 * np.pi * 0.5 * at_s)
    slap = sum(np.sin(k * phase + rng.uniform(0, 2 * np.pi)) / k**0.7 for k in range(1, 50))
    beat = 0.55 + 0.45 * np.cos(phase)
    air = _shaped(count, rng, lambda hz: np.where(hz < 60, 0.0, hz**-0.7)) * beat
    whine = np.sin(2 * np.pi * rng.uniform(1800, 3200) * at_s)
    slap /= np.sqrt(np.mean(np.square(slap)))
    return 0.6 * slap + 0.7 * air + 0.08 * whine


def babble(count: int, rng: Random, talk: list[Samples]) -> Samples:
    """Several people at once: each entry of `talk` is one other speaker's speech, begun at any point and repeated."""
    total = np.zeros(count)
    for speech in talk:
        start = int(rng.integers(len(speech)))
        total += np.resize(np.roll(levelled(speech), -start), count) * rng.uniform(0.7, 1.3)
    return total


def _band_passed(samples: Samples) -> Samples:
    """300-3400 Hz, falling by 24 dB an octave outside, as a radio's filters do (a fourth-order Butterworth's curve)."""
    frequency_hz = np.maximum(np.fft.rfftfreq(len(samples), 1 / RATE_HZ), 1.0)
    gain = 1 / np.sqrt((1 + (RADIO_LOW_HZ / frequency_hz) ** 8) * (1 + (frequency_hz / RADIO_HIGH_HZ) ** 8))
    return np.fft.irfft(np.fft.rfft(samples) * gain, len(samples))


def _companded(samples: Samples) -> Samples:
    """Through 8-bit mu-law and back (ITU-T G.711's curve, without its segments)."""
    curve = np.sign(samples) * np.log1p(255 * np.abs(samples)) / np.log(256)
    coarse = np.round(curve * 127) / 127
    return np.sign(coarse) * (256 ** np.abs(coarse) - 1) / 255


def radio(speech: Samples, rng: Random) -> Samples:
    """A hand-held radio: keyed 20-60 ms after the first sound, white noise 15 dB down, 300-3400 Hz, companded."""
    onset = int(np.argmax(np.abs(speech) > 0.05 * np.max(np.abs(speech))))
    keyed = speech.copy()
    keyed[: onset + int(rng.uniform(*KEYED_LATE_S) * RATE_HZ)] = 0.0
    return _companded(_band_passed(mixed(keyed, rng.standard_normal(len(speech)), 15.0)))


@dataclass(frozen=True, slots=True)
class Condition:
    """A place to speak in: its name, and the sound there and how far below the speech it lies."""

    name: str
    noise: str
    snr_db: float = 0.0


CONDITIONS = {
    condition.name: condition
    for condition in (
        Condition("quiet", "none"),
        Condition("pink20", "pink", 20.0),
        Condition("pink10", "pink", 10.0),
        Condition("pink5", "pink", 5.0),
        Condition("wind5", "wind", 5.0),
        Condition("rotor5", "rotor", 5.0),
        Condition("babble10", "babble", 10.0),
        Condition("radio15", "radio", 15.0),
    )
}
_NOISES: dict[str, Callable[[int, Random], Samples]] = {"pink": pink, "wind": wind, "rotor": rotor}


def in_condition(speech: Samples, condition: Condition, seed: int, talk: list[Samples]) -> npt.NDArray[np.float32]:
    """The speech as a microphone hears it there. `talk`: other people's speech, used where the condition is babble."""
    rng = np.random.default_rng(seed)
    clean = padded(levelled(speech))
    if condition.noise == "radio":
        heard = radio(clean, rng)
    elif condition.noise == "babble":
        heard = mixed(clean, babble(len(clean), rng, talk), condition.snr_db)
    elif condition.noise == "none":
        heard = clean
    else:
        heard = mixed(clean, _NOISES[condition.noise](len(clean), rng), condition.snr_db)
    heard = heard + rng.standard_normal(len(heard)) * 10 ** (ROOM_DBFS / 20)
    return np.clip(heard, -1.0, 1.0).astype(np.float32)


def noise_alone(condition: Condition, seconds: float, seed: int, talk: list[Samples]) -> npt.NDArray[np.float32]:
    """The place with nobody speaking to the assistant, at the level it has beside speech at ACTIVE_DBFS."""
    rng = np.random.default_rng(seed)
    count = round(seconds * RATE_HZ)
    makers = {"babble": lambda: babble(count, rng, talk), "radio": lambda: rng.standard_normal(count)}
    make = makers.get(condition.noise, lambda: _NOISES[condition.noise](count, rng))
    noise = make() if condition.noise != "none" else np.zeros(count)
    power = float(np.mean(np.square(noise))) or 1.0
    scaled = noise * np.sqrt(10 ** ((ACTIVE_DBFS - condition.snr_db) / 10) / power)
    heard = _companded(_band_passed(scaled)) if condition.noise == "radio" else scaled
    return np.clip(heard + rng.standard_normal(count) * 10 ** (ROOM_DBFS / 20), -1.0, 1.0).astype(np.float32)
