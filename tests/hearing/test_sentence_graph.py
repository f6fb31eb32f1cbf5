"""The derived model folder: whole, keyed by grammar and model, with every word of the grammar in it or an error."""

from __future__ import annotations

import math
import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.hearing import UnknownWordsError, graph, open_recogniser
from assistant.hearing.graph import derived_model
from assistant.hearing.other_talk import MORE_TALK_COST, TALK_COST, UNKNOWN_COST, common_words, spread

pytestmark = pytest.mark.usefixtures("cache")


def cost_of(acceptor: object, *words: str) -> float:
    """The cheapest way of accepting these words; infinite where there is none."""
    here = {acceptor.start: 0.0}
    for word in (*words, None):
        here = with_epsilons(acceptor, here)
        if word is None:
            return min(
                (cost + acceptor.finals[state] for state, cost in here.items() if state in acceptor.finals),
                default=math.inf,
            )
        there: dict[int, float] = {}
        for origin, label, cost, target in acceptor.arcs:
            if label == word and origin in here:
                there[target] = min(there.get(target, math.inf), here[origin] + cost)
        here = there
    raise AssertionError


def with_epsilons(acceptor: object, here: dict[int, float]) -> dict[int, float]:
    reached = dict(here)
    for _ in range(3):
        for origin, label, cost, target in acceptor.arcs:
            if label == "" and origin in reached:
                reached[target] = min(reached.get(target, math.inf), reached[origin] + cost)
    return reached


def test_talk_stands_beside_the_sentences_and_fills_the_notes(small_grammar) -> None:
    plain = small_grammar.acceptor()
    wide = spread(plain, {"weather": 5.0, "small": 6.0})
    assert cost_of(plain, "small", "cylinder") == pytest.approx(cost_of(wide, "small", "cylinder"))
    assert cost_of(wide, "weather") == pytest.approx(TALK_COST + 5.0)
    assert cost_of(wide, "weather", "weather", "[unk]") == pytest.approx(
        TALK_COST + 2 * MORE_TALK_COST + 10.0 + UNKNOWN_COST
    )
    assert cost_of(wide, "note", "weather") == pytest.approx(2.0 + 1.0 + 5.0 + 0.5)
    assert cost_of(wide, "small", "weather") > TALK_COST  # talk all the way, never a sentence that turns into talk
    assert cost_of(wide, "cylinder") == math.inf


def test_common_words_cost_less_than_rare_ones() -> None:
    talk = common_words(2_000)
    assert len(talk) == 2_000
    assert talk["the"] < talk["water"] < math.inf
    assert list(talk.values()) == sorted(talk.values())


@pytest.mark.vosk
def test_the_folder_is_built_once_and_again_when_a_file_is_lost(small_grammar, base_model: Path, monkeypatch) -> None:
    folder = derived_model(small_grammar, base_model)
    with monkeypatch.context() as patch:
        patch.setattr(graph, "build", unwanted)
        assert derived_model(small_grammar, base_model) == folder
    (folder / "graph/Gr.fst").unlink()
    assert (derived_model(small_grammar, base_model) / "graph/Gr.fst").is_file()
    assert "--lattice-beam=6.0" in (folder / "conf/model.conf").read_text()
    assert "--dither=0.0" in (folder / "conf/mfcc.conf").read_text()
    assert (folder / "graph/HCLr.fst").read_bytes() == (base_model / "graph/HCLr.fst").read_bytes()


def unwanted(*_: object) -> None:
    raise AssertionError("built again")


@pytest.mark.slow
@pytest.mark.vosk
def test_another_grammar_gets_another_folder_and_old_ones_go(small_grammar, base_model: Path, monkeypatch) -> None:
    monkeypatch.setattr(graph, "KEPT_FOLDERS", 1)
    old = derived_model(small_grammar, base_model)
    os.utime(old, (1, 1))
    new = derived_model(replace(small_grammar, sentences=("small cylinder",)), base_model)
    assert new != old
    assert [entry.name for entry in new.parent.iterdir()] == [new.name]


@pytest.mark.slow
@pytest.mark.vosk
def test_a_word_is_heard_by_the_sound_of_another_too(
    small_grammar, base_model: Path, say: Callable[[str], NDArray[np.float32]]
) -> None:
    """ "two" has the sound of "three" lent to it: where three is said, it is heard; without that, as talk."""
    lending = replace(small_grammar, sentences=("two pints", "ninety pints"), lent=(("two", ("three",)),))
    without = open_recogniser("vosk", replace(lending, lent=()), model=base_model)
    assert without.hear(say("three pints")).best.text != "two pints"
    ears = open_recogniser("vosk", lending, model=base_model)
    for said in ("two pints", "three pints"):
        utterance = ears.hear(say(said))
        assert utterance.best.text == "two pints"
        assert len({rival.words for rival in utterance.hypotheses}) == len(utterance.hypotheses)


@pytest.mark.slow
@pytest.mark.vosk
def test_a_word_that_the_model_lacks_is_heard_by_two_that_sound_like_it(
    small_grammar, base_model: Path, say: Callable[[str], NDArray[np.float32]]
) -> None:
    lending = replace(small_grammar, sentences=("threepintly small", "ninety pints"))
    with pytest.raises(UnknownWordsError, match="threepintly"):
        open_recogniser("vosk", lending, model=base_model)
    lending = replace(lending, lent=(("threepintly", ("three pints",)),))
    ears = open_recogniser("vosk", lending, model=base_model)
    assert ears.hear(say("three pints small")).best.words == ("threepintly", "small")


def test_files_are_copied_where_links_are_not_allowed(small_grammar, base_model: Path, monkeypatch) -> None:
    def refuse(self: Path, target: Path) -> None:
        raise OSError("no links here")

    monkeypatch.setattr(Path, "symlink_to", refuse)
    folder = derived_model(small_grammar, base_model)
    assert not (folder / "am/final.mdl").is_symlink()
    assert (folder / "am/final.mdl").stat().st_size == (base_model / "am/final.mdl").stat().st_size


@pytest.mark.vosk
def test_a_word_that_vosk_lacks_is_named_with_its_place(small_grammar, base_model: Path) -> None:
    odd = replace(small_grammar, sentences=("small cylinder", "nonrebreather mask"))
    with pytest.raises(UnknownWordsError, match=r'vosk does not know .*: "nonrebreather" \(small.jsgf:4\)$'):
        derived_model(odd, base_model)


@pytest.mark.vosk
@pytest.mark.parametrize("said", ["bottle reads fifteen hundred", "small cylinder ten litres", "how long have we got"])
def test_the_whole_chain_hears_what_is_said(small_ears, say: Callable[[str], NDArray[np.float32]], said: str) -> None:
    heard = small_ears.hear(say(said))
    assert heard.best.text == said
    assert 1 <= len(heard.hypotheses) <= 10
    assert len({hypothesis.words for hypothesis in heard.hypotheses}) == len(heard.hypotheses)
    scores = [hypothesis.log_likelihood for hypothesis in heard.hypotheses]
    assert scores == sorted(scores, reverse=True)


@pytest.mark.vosk
def test_confusable_numbers_come_as_rivals(small_ears, say: Callable[[str], NDArray[np.float32]]) -> None:
    samples = say("fifty litres")
    noise = np.random.default_rng(3).standard_normal(len(samples)).astype(np.float32) * samples.std()
    texts = [hypothesis.text for hypothesis in small_ears.hear(samples + noise).hypotheses]
    assert "fifty litres" in texts
    assert "fifteen litres" in texts


@pytest.mark.vosk
def test_nine_tenths_of_the_graph_cost_are_in_the_likelihood(
    two_spellings, base_model: Path, say: Callable[[str], NDArray[np.float32]]
) -> None:
    two, too = open_recogniser("vosk", two_spellings, model=base_model).hear(say("two litres")).hypotheses[:2]
    assert (two.text, too.text) == ("two litres", "too litres")
    assert two.log_likelihood - too.log_likelihood == pytest.approx(0.9 * 3.0, abs=0.01)


@pytest.mark.vosk
def test_other_talk_is_heard_as_talk(small_ears, say: Callable[[str], NDArray[np.float32]]) -> None:
    heard = small_ears.hear(say("the weather is lovely today")).best.words
    assert {"lovely", "today"} <= set(heard)


@pytest.mark.vosk
def test_a_note_keeps_its_words(small_ears, say: Callable[[str], NDArray[np.float32]]) -> None:
    words = small_ears.hear(say("note he was sitting by the fire")).best.words
    assert words[0] == "note"
    assert "fire" in words


@pytest.mark.vosk
def test_hearing_twice_gives_the_same(small_ears, say: Callable[[str], NDArray[np.float32]]) -> None:
    samples = say("small cylinder fifteen litres")
    assert small_ears.hear(samples) == small_ears.hear(samples)


@pytest.mark.vosk
@pytest.mark.parametrize("level", [0.0, 0.0003, 0.05], ids=["digital silence", "a quiet room", "loud steady noise"])
def test_no_speech_gives_an_empty_utterance(small_ears, level: float) -> None:
    samples = np.random.default_rng(1).standard_normal(3 * 16_000).astype(np.float32) * level
    heard = small_ears.hear(samples)
    assert heard.hypotheses == ()
    assert heard.seconds == 3.0


@pytest.mark.vosk
def test_a_stream_gives_words_early_and_the_same_in_the_end(
    small_ears, say: Callable[[str], NDArray[np.float32]]
) -> None:
    samples = say("small cylinder ten litres")
    stream = small_ears.stream()
    partials = [stream.accept(samples[at : at + 1_600]) for at in range(0, len(samples), 1_600)]
    assert partials[0] == ""
    assert "small cylinder" in partials[len(partials) // 2 + 2]
    assert stream.finish().best.text == "small cylinder ten litres"


@pytest.mark.vosk
def test_two_streams_do_not_mix(small_ears, say: Callable[[str], NDArray[np.float32]]) -> None:
    one, other = small_ears.stream(), small_ears.stream()
    one.accept(say("small cylinder"))
    other.accept(say("ten litres"))
    assert (one.finish().best.text, other.finish().best.text) == ("small cylinder", "ten litres")
