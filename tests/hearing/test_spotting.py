"""The phrase that stops the voice: spotted in speech, at once and after pauses, and in no other talk."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.hearing.recogniser import Recogniser
from assistant.hearing.spotting import NoSpotter, Spotter, spotter_for
from assistant.hearing.wav import SAMPLE_RATE_HZ

pytestmark = pytest.mark.vosk
PIECE = SAMPLE_RATE_HZ // 50
WORDS = ("bottle", "reads", "stop", "the", "procedure", "flow", "fifteen", "litres", "about", "minutes")


def spotted_at_s(spotter: Spotter, samples: NDArray[np.float32]) -> list[float]:
    found = []
    for at in range(0, len(samples), PIECE):
        if spotter.accept(samples[at : at + PIECE]):
            found.append((at + PIECE) / SAMPLE_RATE_HZ)
            spotter.restart()
    return found


def room(seconds: float) -> NDArray[np.float32]:
    rng = np.random.default_rng(4)
    return (rng.standard_normal(round(seconds * SAMPLE_RATE_HZ)) * 3e-4).astype(np.float32)


def test_the_phrase_is_spotted_once_also_after_other_talk(
    small_ears: Recogniser, say: Callable[[str], NDArray[np.float32]]
) -> None:
    spotter = spotter_for(small_ears, WORDS)
    other, phrase = say("flow fifteen litres"), say("stop talking")
    samples = np.concatenate([room(1.0), other, room(1.0), phrase, room(1.0)])
    [at_s] = spotted_at_s(spotter, samples)
    begins_s = 2.0 + len(other) / SAMPLE_RATE_HZ
    assert begins_s < at_s < begins_s + len(phrase) / SAMPLE_RATE_HZ + 0.6


def test_other_talk_is_not_the_phrase(small_ears: Recogniser, say: Callable[[str], NDArray[np.float32]]) -> None:
    spotter = spotter_for(small_ears, WORDS)
    others = ("stop the procedure", "bottle reads fifteen hundred", "about fifteen minutes")
    samples = np.concatenate([part for text in others for part in (room(0.7), say(text))] + [room(1.0)])
    assert spotted_at_s(spotter, samples) == []


def test_ears_without_a_model_spot_nothing() -> None:
    assert isinstance(spotter_for(object(), WORDS), NoSpotter)
