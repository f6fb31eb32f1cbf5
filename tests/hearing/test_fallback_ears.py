"""Pocketsphinx hears it too; words it lacks get their sound from our file or are an error with their place."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.hearing import HearingError, UnknownWordsError, open_recogniser, read_wav
from assistant.hearing import pocketsphinx_ears as fallback
from assistant.hearing.pocketsphinx_ears import dictionary

SAMPLES = Path(__file__).parents[2] / "audio_samples"
PRONUNCIATIONS = (Path(__file__).parents[2] / "grammars" / "en" / "pronunciations.txt").read_text(encoding="utf-8")
# The sounds that pocketsphinx's US English model has: the ARPAbet of the CMU dictionary, without stress.
ARPABET = {
    "AA",
    "AE",
    "AH",
    "AO",
    "AW",
    "AY",
    "B",
    "CH",
    "D",
    "DH",
    "EH",
    "ER",
    "EY",
    "F",
    "G",
    "HH",
    "IH",
    "IY",
    "JH",
    "K",
    "L",
    "M",
    "N",
    "NG",
    "OW",
    "OY",
    "P",
    "R",
    "S",
    "SH",
    "T",
    "TH",
    "UH",
    "UW",
    "V",
    "W",
    "Y",
    "Z",
    "ZH",
}

pytestmark = pytest.mark.usefixtures("cache")


def test_our_pronunciations_are_arpabet() -> None:
    for line in PRONUNCIATIONS.splitlines():
        if line and not line.startswith("#"):
            word, *phones = line.split()
            assert re.fullmatch(r"[a-z']+", word), line
            assert phones, line
            assert set(phones) <= ARPABET, line


def test_our_file_goes_before_the_shipped_dictionary() -> None:
    shipped = ["psi S AY", "read R IY D", "read(2) R EH D", "other AH DH ER"]
    found = dictionary({"psi", "read", "litres"}, shipped, "# ours\npsi P IY EH S AY\nlitres L IY T ER Z # plural\n")
    assert found == {"psi": ("P IY EH S AY",), "read": ("R IY D", "R EH D"), "litres": ("L IY T ER Z",)}


def test_a_word_without_a_sound_is_named_with_its_place(small_grammar) -> None:
    with pytest.raises(UnknownWordsError, match=r'pocketsphinx does not know .*: "litres" \(small.jsgf:9\)$'):
        open_recogniser("pocketsphinx", small_grammar)


def test_it_hears_what_is_said(small_grammar) -> None:
    """A recording: what espeak says of the same words differs a little each time in one process."""
    ears = open_recogniser("pocketsphinx", small_grammar, pronunciations=PRONUNCIATIONS)
    samples = read_wav(SAMPLES / "small-cylinder.flite-kal16.wav")
    heard = ears.hear(samples)
    assert heard.best.text == "small cylinder"
    assert len({hypothesis.words for hypothesis in heard.hypotheses}) == len(heard.hypotheses)
    assert ears.hear(np.zeros(16_000, np.float32)).hypotheses == ()
    again = ears.hear(samples)
    assert again.best.words == heard.best.words
    assert again.best.log_likelihood == pytest.approx(heard.best.log_likelihood, abs=0.1)


def test_its_stream_gives_words_early(small_grammar, say: Callable[[str], NDArray[np.float32]]) -> None:
    ears = open_recogniser("pocketsphinx", small_grammar, pronunciations=PRONUNCIATIONS)
    samples = say("bottle reads fifteen hundred")
    stream = ears.stream()
    partials = [stream.accept(samples[at : at + 1_600]) for at in range(0, len(samples), 1_600)]
    assert any(partial.startswith("bottle") for partial in partials)
    assert stream.finish().best.words[:2] == ("bottle", "reads")


def test_its_graph_is_built_once(small_grammar, monkeypatch: pytest.MonkeyPatch) -> None:
    open_recogniser("pocketsphinx", small_grammar, pronunciations=PRONUNCIATIONS)
    monkeypatch.setattr(fallback, "_transitions", lambda acceptor: pytest.fail("built again"))
    open_recogniser("pocketsphinx", small_grammar, pronunciations=PRONUNCIATIONS)
    with pytest.raises(pytest.fail.Exception, match="built again"):
        open_recogniser(
            "pocketsphinx", replace(small_grammar, sentences=("small cylinder",)), pronunciations=PRONUNCIATIONS
        )


def test_without_a_model_the_fallback_is_used_and_said(small_grammar, tmp_path: Path) -> None:
    notices: list[str] = []
    ears = open_recogniser(None, small_grammar, model=tmp_path, pronunciations=PRONUNCIATIONS, notice=notices.append)
    assert ears.name == "pocketsphinx"
    assert "no whole vosk model" in notices[0]
    assert "less accurately" in notices[0]


def test_vosk_asked_for_by_name_is_not_replaced(small_grammar, tmp_path: Path) -> None:
    with pytest.raises(HearingError, match="no whole vosk model"):
        open_recogniser("vosk", small_grammar, model=tmp_path)


def test_an_unknown_engine_is_refused_with_the_known_ones(small_grammar) -> None:
    with pytest.raises(HearingError, match="called 'whistle'; there are vosk and pocketsphinx"):
        open_recogniser("whistle", small_grammar)
