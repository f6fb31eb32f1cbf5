"""The real model rates what was said above what was not, and hears it by itself."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.hearing.rating.model import FILES, RatingModel, model_folder
from assistant.hearing.rating.written import as_written
from assistant.hearing.wav import read_wav

SAMPLES = Path(__file__).parents[3] / "audio_samples"


def recorded(file: str) -> NDArray[np.float32]:
    return read_wav(SAMPLES / f"{file}.wav")


@pytest.fixture(scope="module")
def model() -> RatingModel:
    folder = model_folder()
    if folder is None:
        pytest.skip("the rating model's package has no wheel for this machine")
    return RatingModel.opened(folder)


@pytest.mark.parametrize(
    ("file", "said", "others"),
    [
        (
            "gauge-reads-fifteen-hundred.flite-rms",
            "gauge reads fifteen hundred",
            ["gauge reads sixteen hundred", "gauge reads fifty hundred", "next"],
        ),
        (
            "start-the-set-up-from-the-regulator.festival-ked",
            "start the set up from the regulator",
            ["start the set up from the reservoir", "stop the set up", "no leak"],
        ),
        ("how-long-do-we-have.flite-kal16", "how long do we have", ["how low do we have", "note how long", "yes"]),
    ],
)
def test_what_was_said_is_rated_highest(model: RatingModel, file: str, said: str, others: list[str]) -> None:
    sound = model.hear(recorded(file))
    assert sound is not None
    lines = [as_written(words.split())[0] for words in (said, *others)]
    rates = model.rate(sound, lines)
    assert max(rates) == rates[0]
    assert rates == [model.rate(sound, [line])[0] for line in lines]


def test_what_it_hears_by_itself_has_the_likelihood_that_rating_it_gives(model: RatingModel) -> None:
    sound = model.hear(recorded("how-long-do-we-have.flite-kal16"))
    assert sound is not None
    text, log_likelihood = model.freely(sound)
    assert text.lower().startswith("how long do we have")
    # Not the same: whatever mark ends it, and the model counts in whole numbers of 8 bits, rounded by what is in a run.
    assert model.rate(sound, [text.rstrip("?.!")]) == pytest.approx([log_likelihood], abs=0.7)


def test_sound_too_short_or_too_long_is_not_heard(model: RatingModel) -> None:
    assert model.hear(np.zeros(1000, dtype=np.float32)) is None
    assert model.hear(np.zeros(26 * 16_000, dtype=np.float32)) is None


def test_a_loop_ends(model: RatingModel) -> None:
    noise = np.random.default_rng(3).normal(0, 0.1, 16_000).astype(np.float32)
    sound = model.hear(noise)
    assert sound is not None
    text, _ = model.freely(sound)
    assert len(text) < 80


def test_nothing_to_rate_is_nothing(model: RatingModel) -> None:
    sound = model.hear(recorded("yes.festival-ked"))
    assert sound is not None
    assert model.rate(sound, []) == []


def test_a_missing_or_spoilt_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(OSError, match=r"encoder_model\.ort is missing"):
        RatingModel.opened(tmp_path)
    for name in FILES:
        (tmp_path / name).write_bytes(b"nothing of the sort")
    with pytest.raises(ValueError, match="cannot be loaded"):
        RatingModel.opened(tmp_path)
