"""The second hearing goes on beside the first: what it is given, and how much of it is left for the end."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import pytest

from assistant.hearing.second_hearing import FIRST_S, LOOKED_BACK_S, MOST_A_STEP_S, SecondHearing
from assistant.hearing.wav import SAMPLE_RATE_HZ

Samples = npt.NDArray[np.float32]
PIECE = SAMPLE_RATE_HZ // 50


@dataclass
class CountingEar:
    """How many samples it was given, call by call."""

    given: list[int] = field(default_factory=list)

    def AcceptWaveform(self, pcm: bytes) -> bool:  # noqa: N802 (vosk names it)
        self.given.append(len(pcm) // 2)
        return False

    def FinalResult(self) -> str:  # noqa: N802 (vosk names it)
        return "all of it"


def noisy(seconds: float, seed: int = 3) -> Samples:
    rng = np.random.default_rng(seed)
    return (rng.standard_normal(round(seconds * SAMPLE_RATE_HZ)) * 0.02).astype(np.float32)


def clear(seconds: float) -> Samples:
    """Loud and silent by turns."""
    at_s = np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    return (0.3 * np.sin(2 * np.pi * 700 * at_s) * (at_s % 0.5 < 0.25)).astype(np.float32)


def followed(samples: Samples) -> tuple[SecondHearing, CountingEar, list[int]]:
    """The hearing after all the samples, its ear, and one entry for each time that it was opened."""
    ear, opened = CountingEar(), list[int]()

    def open_it() -> CountingEar:
        opened.append(1)
        return ear

    second, pieces = SecondHearing(open_it), list[Samples]()
    for at in range(0, len(samples), PIECE):
        pieces.append(samples[at : at + PIECE])
        second.follow(pieces, sum(map(len, pieces)))
    return second, ear, opened


@pytest.mark.parametrize("seconds", [FIRST_S + 0.1, 2.93, LOOKED_BACK_S + 3.0])
def test_in_noise_each_sample_is_heard_once_and_little_is_left_for_the_end(seconds: float) -> None:
    samples = noisy(seconds)
    second, ear, opened = followed(samples)
    before = sum(ear.given)
    assert second.finish(samples) == "all of it"
    assert len(opened) == 1
    assert sum(ear.given) == len(samples)
    assert len(samples) - before < 0.25 * SAMPLE_RATE_HZ


def test_what_is_clear_is_heard_once_only() -> None:
    _, _, opened = followed(clear(3.0))
    assert not opened


def test_where_noise_came_late_all_is_heard_from_its_beginning() -> None:
    samples = np.concatenate([clear(LOOKED_BACK_S + 1.0), noisy(6.0) * 10])
    second, ear, opened = followed(samples)
    second.finish(samples)
    assert len(opened) == 1
    assert sum(ear.given) == len(samples)


def test_what_comes_all_at_once_is_made_up_for_step_by_step() -> None:
    """As after a trial that came to nothing, when all so far is heard again."""
    ear, samples = CountingEar(), noisy(6.0)
    second, pieces = SecondHearing(lambda: ear), [samples[: 3 * SAMPLE_RATE_HZ]]
    second.follow(pieces, len(pieces[0]))
    for at in range(len(pieces[0]), len(samples), PIECE):
        pieces.append(samples[at : at + PIECE])
        second.follow(pieces, sum(map(len, pieces)))
    assert max(ear.given) == round(MOST_A_STEP_S * SAMPLE_RATE_HZ)
    assert len(samples) - sum(ear.given) < 0.25 * SAMPLE_RATE_HZ, "it has caught up"
    second.finish(samples)
    assert sum(ear.given) == len(samples)


def test_what_is_too_short_to_know_its_noise_is_heard_at_its_end() -> None:
    samples = noisy(0.5)
    second, ear, opened = followed(samples)
    assert not opened
    second.finish(samples)
    assert sum(ear.given) == len(samples)
