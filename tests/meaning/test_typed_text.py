"""Typed text: how it is cut into tokens, and which misspellings are repaired."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.grammar import Grammar
from assistant.meaning.typed import repaired, tokenised, typed

NUMBER_WORDS = [
    *("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"),
    *("ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"),
    *("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety", "hundred", "thousand", "point"),
]
UNIT_WORDS = ["litres", "bar", "minutes", "hours", "metres", "feet", "degrees", "pascal"]


@pytest.mark.parametrize(
    ("text", "tokens"),
    [
        ("1500psi", "1500 psi"),
        ("15L", "15 l"),
        ("15 L/min", "15 l per min"),
        ("94%", "94 percent"),
        ("120/80", "120 over 80"),
        ("120 / 80", "120 over 80"),
        ("-5", "minus 5"),
        ("−5 °C", "minus 5 degrees c"),
        ("1,500", "1500"),
        ("13,700 kPa", "13700 kpa"),
        ("SpO2: 94", "spo2 94"),
        ("SpO₂ 94", "spo2 94"),
        ("94-98%", "94 to 98 percent"),
        (".5 litres", "0.5 litres"),
        ("½ litre", "0.5 litre"),
        ("2½ litres", "2.5 litres"),
        ("1h10", "1 h 10"),
        ("p.s.i.", "psi"),
        ("non-rebreather", "non rebreather"),
        ("What's next?", "what's next"),
        ("what’s next", "what's next"),
        ("reads 1500, small; 15 litres.", "reads 1500 small 15 litres"),
        ("1500.", "1500"),
        ("note café, märsh, Ａ ﬂare", "note cafe marsh a flare"),
        ("note cafe\u0301 Привет two pills 🙂", "note cafe unreadable two pills"),
        ("gauge reads 1500 бар", "gauge reads 1500 unreadable"),
        ("", ""),
        ("?!", ""),
    ],
)
def test_text_is_cut_into_words_and_numerals(text: str, tokens: str) -> None:
    assert " ".join(tokenised(text)) == tokens


@pytest.mark.parametrize("text", ["2,5", "1.5.0", "94,98", "1,50,0"])
def test_what_is_not_quite_a_numeral_stays_in_one_piece(text: str) -> None:
    assert tokenised(text) == (text,)


@pytest.mark.parametrize(
    ("slip", "word"),
    [
        ("guage", "gauge"),
        ("cylnder", "cylinder"),
        ("cilinder", "cylinder"),
        ("canula", "cannula"),
        ("rebreathr", "rebreather"),
        ("saturaton", "saturation"),
        ("smal", "small"),
        ("pateint", "patient"),
        ("regulater", "regulator"),
    ],
)
def test_a_misspelt_word_is_repaired(slip: str, word: str, grammar: Grammar) -> None:
    assert repaired(slip, grammar) == word


@pytest.mark.parametrize(
    "token",
    [
        "fiften",
        "fivteen",
        "fifteeen",
        "sixy",
        "eigthy",
        "hundrd",
        "thousnd",
        "sevnty",
        "litrs",
        "minuts",
        "degres",
        "goat",
        "bost",
        "1500",
        "x1500",
    ],
)
def test_nothing_becomes_a_number_or_a_unit_and_short_words_stay(token: str, grammar: Grammar) -> None:
    assert repaired(token, grammar) == token


@settings(deadline=None, max_examples=150)
@given(
    word=st.sampled_from(NUMBER_WORDS + UNIT_WORDS),
    at=st.integers(0, 9),
    letter=st.sampled_from("abcdefghijklmnopqrstuvwxyz"),
)
def test_no_slip_turns_anything_into_another_number_or_unit(word: str, at: int, letter: str, grammar: Grammar) -> None:
    place = at % len(word)
    for slip in (
        word[:place] + letter + word[place + 1 :],
        word[:place] + word[place + 1 :],
        word[:place] + letter + word[place:],
    ):
        after = repaired(slip, grammar)
        assert after == slip or after not in NUMBER_WORDS + UNIT_WORDS


def test_the_words_of_a_note_are_not_repaired(grammar: Grammar) -> None:
    assert typed("note pateint has a guage", grammar).best.words == ("note", "pateint", "has", "a", "guage")


def test_typed_text_is_one_certain_hypothesis(grammar: Grammar) -> None:
    utterance = typed("Gauge 1500", grammar)
    assert utterance.typed
    assert [hypothesis.words for hypothesis in utterance.hypotheses] == [("gauge", "1500")]
    assert utterance.source == "Gauge 1500"
    assert typed("  ", grammar).hypotheses == ()
