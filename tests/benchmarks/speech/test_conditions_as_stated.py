"""The conditions are what they say: their signal-to-noise ratio, their spectrum, and the same from the same seed."""

import numpy as np
import pytest
from conditions import (
    ACTIVE_DBFS,
    CONDITIONS,
    RATE_HZ,
    active_power,
    in_condition,
    levelled,
    mixed,
    noise_alone,
    padded,
    pink,
    rotor,
    wind,
)


def speech_like(seconds=2.0):
    """Bursts of tone with gaps: three fifths of the time something is said."""
    at_s = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    return 0.3 * np.sin(2 * np.pi * 300 * at_s) * ((at_s * 2.5) % 1 < 0.6)


def power_between(samples, low_hz, high_hz):
    spectrum = np.abs(np.fft.rfft(samples)) ** 2
    frequency_hz = np.fft.rfftfreq(len(samples), 1 / RATE_HZ)
    return float(np.sum(spectrum[(frequency_hz >= low_hz) & (frequency_hz < high_hz)]))


def test_the_active_level_is_that_of_the_speech_alone():
    speech = speech_like()
    assert active_power(speech) == pytest.approx(0.3**2 / 2, rel=0.1)
    assert active_power(padded(speech)) == pytest.approx(active_power(speech), rel=0.1)


@pytest.mark.parametrize("make", [pink, wind, rotor])
@pytest.mark.parametrize("snr_db", [5.0, 20.0])
def test_noise_lies_as_far_below_the_speech_as_stated(make, snr_db):
    speech = padded(levelled(speech_like()))
    noise = mixed(speech, make(len(speech), np.random.default_rng(3)), snr_db) - speech
    found_db = 10 * np.log10(active_power(speech) / np.mean(np.square(noise)))
    assert found_db == pytest.approx(snr_db, abs=0.01)


def test_levelled_speech_has_the_level():
    assert 10 * np.log10(active_power(levelled(speech_like()))) == pytest.approx(ACTIVE_DBFS, abs=0.1)


def test_pink_noise_has_equal_power_in_each_octave():
    noise = pink(RATE_HZ * 30, np.random.default_rng(1))
    octaves = [power_between(noise, low, 2 * low) for low in (125, 250, 500, 1000, 2000)]
    assert max(octaves) / min(octaves) < 1.15


def test_wind_is_low():
    noise = wind(RATE_HZ * 30, np.random.default_rng(1))
    assert power_between(noise, 0, 300) > 20 * power_between(noise, 300, 8000)


def test_a_rotor_beats():
    noise = rotor(RATE_HZ * 10, np.random.default_rng(1))
    envelope = np.abs(np.fft.rfft(np.square(noise) - np.mean(np.square(noise))))
    frequency_hz = np.fft.rfftfreq(len(noise), 1 / RATE_HZ)
    beats = (frequency_hz > 14) & (frequency_hz < 28)
    between = (frequency_hz > 4) & (frequency_hz < 14)
    assert envelope[beats].max() > 5 * envelope[between].max()


def test_a_radio_passes_the_telephone_band_alone():
    heard = noise_alone(CONDITIONS["radio15"], 5.0, 1, [])
    inside = power_between(heard, 400, 3000)
    assert power_between(heard, 0, 150) < inside / 100
    assert power_between(heard, 6000, 8000) < inside / 20


@pytest.mark.parametrize("name", CONDITIONS)
def test_the_same_seed_makes_the_same_sound(name):
    talk = [speech_like(), speech_like(1.5)]
    one, same, other = (in_condition(speech_like(), CONDITIONS[name], seed, talk) for seed in (1, 1, 2))
    assert one.dtype == np.float32
    assert np.array_equal(one, same)
    assert not np.array_equal(one, other)
