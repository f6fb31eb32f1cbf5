"""What is tuned on is not what is scored on, and numbers mean what their words say."""

import random

import pytest
from corpora import SET_VOICES, SETS, commands, gauge_values, human, phrasings, talk
from said import sentences
from spoken_numbers import SLOTS, cardinal, decimal, digits, draw, hundreds, short_hundreds

from assistant import shelf
from assistant.meaning.contract import from_json


def test_no_wording_and_no_voice_is_in_both_sets():
    wordings = [{item.clip.words for item in commands(which, 1)} for which in SETS]
    sentences = [{item.clip.words for item in talk(which, 1)} for which in SETS]
    assert not set(SET_VOICES["tuning"]) & set(SET_VOICES["scoring"])
    assert not wordings[0] & wordings[1]
    assert not sentences[0] & sentences[1]


def test_what_the_grammar_learns_from_is_in_neither_set():
    learning = {phrasing["say"] for phrasing in phrasings("learning")}
    assert len(learning) > 400
    for which in SETS:
        assert not learning & {phrasing["say"] for phrasing in phrasings(which)}


@pytest.mark.parametrize(("written", "count"), [("unseen", 300), ("plain", 200)])
def test_the_sentences_that_are_only_counted_are_all_different(written, count):
    assert len({phrasing["say"] for phrasing in phrasings(written)}) == count


def test_the_sentences_of_the_grammar_are_those_of_the_learning_phrasings():
    assert shelf.said_sentences() == tuple(sentences())


def test_no_human_speaker_is_in_both_sets():
    people = [{item.clip.speaker for item in human(which)} for which in SETS]
    if not people[0]:
        pytest.skip("../shared/human_speech is not here")
    assert people[1]
    assert not people[0] & people[1]


def test_scoring_has_the_size_it_is_meant_to_have():
    items = list(commands("scoring", 1))
    assert len(items) >= 120
    assert len({item.clip.speaker for item in items}) >= 4
    assert len({meaning["kind"] for item in items for meaning in item.means}) >= 17


@pytest.mark.parametrize("which", SETS)
def test_every_meaning_is_one_of_the_contract(which):
    for item in commands(which, 2):
        for meaning in item.means:
            assert from_json(meaning).kind == meaning["kind"]


def test_items_are_the_same_each_time():
    assert list(commands("tuning", 2)) == list(commands("tuning", 2))


def test_numbers_in_words():
    assert cardinal(1550) == "one thousand five hundred and fifty"
    assert cardinal(112, joined=False) == "one hundred twelve"
    assert hundreds(1500) == "fifteen hundred"
    assert hundreds(1850) == "eighteen fifty"
    assert hundreds(2000) == "two thousand"
    assert short_hundreds(112) == "one twelve"
    assert short_hundreds(104) == "one hundred and four"
    assert digits(1500, radio=True) == "one fife zero zero"
    assert decimal(1.5) == "one point five"
    assert decimal(0.5) == "zero point five"


@pytest.mark.parametrize("slot", SLOTS)
def test_a_slot_draws_words_and_never_numerals(slot):
    for seed in range(50):
        words = draw(slot, random.Random(seed)).words
        assert words
        assert words.replace(" ", "").isalpha()


@pytest.mark.parametrize(
    ("words", "values"),
    [
        ("one zero six five", {1065}),
        ("fourteen fourteen", {1414}),
        ("six thirty", {630}),
        ("thirty three", {33}),
        ("one hundred", {100}),
        ("two oh", {20}),
        ("oh six seven", set()),
        ("one five two one three", set()),
        ("twelve nineteen sixty nine", set()),
    ],
)
def test_which_number_words_may_be_a_gauge_reading(words, values):
    assert gauge_values(words) == values
