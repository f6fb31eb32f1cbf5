"""Two hearings taken together, and what is cut away or put around a recording before it is heard."""

import numpy as np
import pytest

from assistant.hearing.breath import KEPT_AROUND_S, STILL_S, framed
from assistant.hearing.denoising import without_steady_noise
from assistant.hearing.heard_twice import LACKING, is_clear, taken_together
from assistant.hearing.wav import SAMPLE_RATE_HZ
from assistant.utterance import Hypothesis


def heard(**likelihoods: float) -> tuple[Hypothesis, ...]:
    return tuple(Hypothesis(words=(word,), log_likelihood=value) for word, value in likelihoods.items())


def burst(noise: float, *, seconds: float = 3.0) -> np.ndarray:
    """Half a second of loud tone in the middle of noise."""
    count = round(seconds * SAMPLE_RATE_HZ)
    samples = noise * np.random.default_rng(3).standard_normal(count)
    middle = slice(count // 2 - SAMPLE_RATE_HZ // 4, count // 2 + SAMPLE_RATE_HZ // 4)
    samples[middle] += 0.3 * np.sin(np.arange(SAMPLE_RATE_HZ // 2) / SAMPLE_RATE_HZ * 2 * np.pi * 700)
    return samples.astype(np.float32)


def test_what_both_hear_wins_over_what_either_prefers():
    together = taken_together(heard(fifty=100.0, fifteen=99.5, sixty=97.0), heard(sixteen=90.0, fifteen=89.5))
    assert [hypothesis.text for hypothesis in together] == ["fifteen", "fifty", "sixteen", "sixty"]


def test_likelihoods_stay_on_the_scale_of_the_first():
    together = taken_together(heard(fifteen=100.0, fifty=98.0), heard(fifteen=40.0, fifty=39.0))
    assert [hypothesis.log_likelihood for hypothesis in together] == pytest.approx([100.0, 98.5])


def test_what_one_lacks_counts_a_little_below_its_least():
    together = taken_together(heard(fifteen=100.0), heard(fifteen=50.0, fifty=48.0))
    assert together[1].log_likelihood == pytest.approx((100.0 - LACKING + 98.0) / 2)


def test_a_second_hearing_of_nothing_changes_nothing():
    assert taken_together(heard(fifteen=100.0), ()) == heard(fifteen=100.0)
    assert taken_together((), heard(fifteen=100.0)) == ()


def level_db(samples: np.ndarray) -> float:
    return float(10 * np.log10(np.mean(samples.astype(float) ** 2)))


def test_steady_noise_is_taken_out_and_what_stands_above_it_is_kept():
    noisy, clean = burst(0.05), without_steady_noise(burst(0.05))
    assert len(clean) == len(noisy)
    before, tone = slice(0, SAMPLE_RATE_HZ), slice(round(1.3 * SAMPLE_RATE_HZ), round(1.7 * SAMPLE_RATE_HZ))
    assert level_db(noisy[before]) - level_db(clean[before]) > 8
    assert level_db(clean[tone]) == pytest.approx(level_db(burst(0.0)[tone]), abs=0.5)


@pytest.mark.parametrize("count", [0, 1, 511, 512, 5000])
def test_any_length_comes_back_as_long_and_finite(count: int):
    clean = without_steady_noise(np.random.default_rng(1).standard_normal(count).astype(np.float32))
    assert len(clean) == count
    assert np.isfinite(clean).all()


def test_silence_stays_silent():
    assert not without_steady_noise(np.zeros(4000, dtype=np.float32)).any()


def test_clear_speech_gets_stillness_around_it_and_loses_nothing():
    samples = burst(1e-5)
    assert is_clear(samples)
    still = round(STILL_S * SAMPLE_RATE_HZ)
    around = framed(samples)
    assert np.array_equal(around[still:-still], samples)
    assert not around[:still].any()
    assert not around[-still:].any()


def test_of_noise_around_speech_little_is_kept():
    samples = burst(0.02)
    assert not is_clear(samples)
    kept_s = len(framed(samples)) / SAMPLE_RATE_HZ
    assert 0.5 + KEPT_AROUND_S < kept_s < 0.5 + 2 * KEPT_AROUND_S + 0.2
