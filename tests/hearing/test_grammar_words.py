"""Every word of the real grammar is known to both engines, so that none of them is never heard."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant import shelf
from assistant.app import grammar_for, kit_from
from assistant.hearing.graph import word_numbers
from assistant.hearing.pocketsphinx_ears import _shipped_dictionary, dictionary

GRAMMAR = grammar_for(kit_from(None))


def test_pocketsphinx_has_a_sound_for_every_word() -> None:
    known = dictionary(GRAMMAR.words(), _shipped_dictionary(), shelf.pronunciations())
    assert set(GRAMMAR.words()) - known.keys() == set()


def test_no_pronunciation_is_for_a_word_that_nobody_says() -> None:
    ours = {line.split()[0] for line in shelf.pronunciations().splitlines() if line and not line.startswith("#")}
    assert ours - set(GRAMMAR.words()) == set()


@pytest.mark.vosk
def test_vosk_has_a_number_for_every_word_or_for_what_sounds_like_it(base_model: Path) -> None:
    lent = {part for others in GRAMMAR.sounds().values() for other in others for part in other.split()}
    numbers = word_numbers((), {*GRAMMAR.words(), *lent}, base_model, GRAMMAR.word_places())
    assert lent - numbers.keys() == set()
    assert set(GRAMMAR.words()) - numbers.keys() - GRAMMAR.sounds().keys() == set()


def test_sounds_are_lent_to_words_of_the_grammar() -> None:
    assert GRAMMAR.sounds().keys() - set(GRAMMAR.words()) == set()
