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
def test_vosk_has_a_number_for_every_word(base_model: Path) -> None:
    numbers = word_numbers(GRAMMAR.words(), (), base_model, GRAMMAR.word_places())
    assert set(numbers) == set(GRAMMAR.words())
