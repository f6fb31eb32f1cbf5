"""Each hypothesis gets its rating; nothing else of what was heard changes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, cast

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.hearing.rating import ears as rating_ears
from assistant.hearing.rating import model as rating_model
from assistant.hearing.rating.ears import RatedEars, rated_where_possible, shared_model
from assistant.hearing.rating.model import OFF, RatingModel, Sound, model_folder
from assistant.hearing.rating.rated import MOST_RATED, rated
from assistant.utterance import Hypothesis, Utterance

NOTHING = np.zeros((1, 1, 288), dtype=np.float32)
SOUND = Sound(states=NOTHING, mask=np.ones((1, 16000), np.int64), kept={}, logits=NOTHING[0], seconds=1.0)
SECOND = np.zeros(16_000, dtype=np.float32)


class RatesByLength(RatingModel):
    """Rates a line by how short it is, and hears one word."""

    def __init__(self) -> None:
        self.heard = 0

    def hear(self, samples: NDArray[np.float32]) -> Sound | None:
        self.heard = len(samples)
        return SOUND

    def rate(self, sound: Sound, lines: Sequence[str]) -> list[float]:
        return [-float(len(line)) for line in lines]

    def freely(self, sound: Sound) -> tuple[str, float]:
        return "Fifteen hundred.", -3.0


class Hears:
    """A recogniser that hears the same utterance whatever sounds."""

    name = "vosk"
    silent = False
    model = "the model"

    def __init__(self, utterance: Utterance) -> None:
        self.utterance = utterance

    def hear(self, samples: NDArray[np.float32]) -> Utterance:
        return self.utterance

    def stream(self) -> Hears:
        return self

    def accept(self, samples: NDArray[np.float32]) -> str:
        return "so far"

    def finish(self) -> Utterance:
        return self.utterance

    def background(self, samples: NDArray[np.float32]) -> Hypothesis | None:
        return Hypothesis(words=("behind",))


def heard(*texts: str) -> Utterance:
    return Utterance(
        hypotheses=tuple(Hypothesis(words=tuple(t.split()), log_likelihood=-n) for n, t in enumerate(texts)),
        engine="vosk",
        seconds=1.0,
    )


def test_hypotheses_are_rated_as_they_were_said_and_the_best_in_figures_too() -> None:
    given = heard("gauge fifteen hundred", "how long are we")
    found = rated(given, RatesByLength(), lambda: SOUND)
    assert [h.rated for h in found.hypotheses] == [-len("Gauge fifteen hundred"), -len("How long are we")]
    assert found.freely == Hypothesis(words=("Fifteen", "hundred."), log_likelihood=-3.0)
    assert found.freely_ahead == len("Gauge 1500") - 3
    bare = tuple(replace(h, rated=None) for h in found.hypotheses)
    assert replace(found, hypotheses=bare, freely=None, freely_ahead=0.0) == given


def test_what_the_model_would_write_itself_is_never_behind() -> None:
    assert rated(heard("a"), RatesByLength(), lambda: SOUND).freely_ahead == 0.0


def test_the_same_with_other_marks_is_not_ahead() -> None:
    assert rated(heard("how are you", "fifteen hundred"), RatesByLength(), lambda: SOUND).freely_ahead == 0.0


@pytest.mark.parametrize(
    "text", ["\N{EIGHTH NOTE}\N{EIGHTH NOTE}", "You", "Thank you.", "", "\N{CJK UNIFIED IDEOGRAPH-4F60}"]
)
def test_where_it_hears_no_speech_it_has_no_words(text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(RatesByLength, "freely", lambda self, sound: (text, -4.0))
    found = rated(heard("help"), RatesByLength(), lambda: SOUND)
    assert found.freely == Hypothesis(words=(), log_likelihood=-4.0)
    assert found.best.rated == -len("Help")


def test_what_was_said_so_is_speech(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(RatesByLength, "freely", lambda self, sound: ("Thank you.", -4.0))
    assert rated(heard("thank you"), RatesByLength(), lambda: SOUND).freely == Hypothesis(
        words=("Thank", "you."), log_likelihood=-4.0
    )


def test_only_the_likeliest_are_rated_and_none_is_lost() -> None:
    given = heard(*(f"note {word}" for word in "abcdefghijklmnopqrst"))
    found = rated(given, RatesByLength(), lambda: SOUND)
    assert [h.words for h in found.hypotheses] == [h.words for h in given.hypotheses]
    assert [h.rated is None for h in found.hypotheses] == [False] * MOST_RATED + [True] * (20 - MOST_RATED)


@pytest.mark.parametrize("given", [Utterance(), heard("")])
def test_silence_is_not_listened_to_again(given: Utterance) -> None:
    def never() -> Sound | None:
        raise AssertionError("the second model was asked")

    assert rated(given, RatesByLength(), never) is given


def test_sound_that_the_model_is_not_for_leaves_the_utterance_as_it_is() -> None:
    given = heard("how long")
    assert rated(given, RatesByLength(), lambda: None) is given


@pytest.mark.parametrize("whole", [True, False])
def test_a_recording_and_a_stream_are_both_rated(whole: bool) -> None:
    model = RatesByLength()
    ears = RatedEars(Hears(heard("how long")), lambda: model)
    if whole:
        utterance = ears.hear(SECOND)
    else:
        stream = ears.stream()
        assert stream.accept(SECOND[:6000]) == "so far"
        stream.accept(SECOND[6000:])
        utterance = stream.finish()
    assert utterance.best.rated == -len("How long")
    assert model.heard == len(SECOND)
    assert (ears.name, ears.model, ears.stream().silent) == ("vosk", "the model", False)
    assert ears.background(SECOND) == Hypothesis(words=("behind",))


def test_a_model_that_cannot_be_loaded_leaves_the_ears_as_they_were() -> None:
    given = heard("how long")
    ears = RatedEars(Hears(given), lambda: None)
    stream = ears.stream()
    stream.accept(SECOND)
    assert ears.hear(SECOND) is given
    assert stream.finish() is given


@pytest.mark.parametrize("fails", ["hear", "rate", "freely"])
def test_what_was_heard_is_not_lost_where_the_model_fails(fails: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def failing(self: RatingModel, *given: object) -> None:
        raise MemoryError

    monkeypatch.setattr(RatesByLength, fails, failing)
    given = heard("how long")
    ears = RatedEars(Hears(given), RatesByLength)
    stream = ears.stream()
    stream.accept(SECOND)
    assert stream.finish() is given
    assert ears.hear(SECOND) is given


def test_without_the_model_the_ears_are_bare(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(OFF, "off")
    bare = Hears(heard("how long"))
    assert model_folder() is None
    assert cast(Any, rated_where_possible(bare)) is bare


@pytest.mark.parametrize("spoilt", [OSError, ValueError])
def test_a_spoilt_model_is_none(spoilt: Callable[[], Exception], monkeypatch: pytest.MonkeyPatch) -> None:
    def opened(folder: object) -> RatingModel:
        raise spoilt()

    shared_model.cache_clear()
    monkeypatch.setattr(rating_ears, "model_folder", lambda: "somewhere")
    monkeypatch.setattr(RatingModel, "opened", opened)
    assert shared_model() is None
    shared_model.cache_clear()


def test_a_package_without_its_files_counts_as_none(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rating_model, "PACKAGE", "json")  # a package that is always there, and has no model
    monkeypatch.delenv(OFF, raising=False)
    assert model_folder() is None
