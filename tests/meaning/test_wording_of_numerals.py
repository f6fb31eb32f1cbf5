"""Typed numerals shown as words."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.grammar import Grammar
from assistant.meaning.kinds import BareNumber
from assistant.meaning.typed import tokenised, typed
from assistant.meaning.understand import understand
from assistant.meaning.wording import in_words
from assistant.oxygen.kit import Kit


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("bottle reads 1500, small cylinder, 15 litres", "bottle reads fifteen hundred small cylinder fifteen litres"),
        ("gauge 1850", "gauge eighteen hundred fifty"),
        ("gauge 2000", "gauge two thousand"),
        ("gauge 2050", "gauge two thousand fifty"),
        ("gauge 13700", "gauge thirteen thousand seven hundred"),
        ("140 bar", "one hundred forty bar"),
        ("2.5 litres", "two point five litres"),
        (".5 litres", "zero point five litres"),
        ("0 psi", "zero psi"),
        ("-5", "minus five"),
        ("120/80", "one hundred twenty over eighty"),
        ("1234567", "one two three four five six seven"),
        ("2,5", "2,5"),
    ],
)
def test_numerals_become_words(text: str, words: str, grammar: Grammar) -> None:
    assert in_words(tokenised(text), grammar) == words


@settings(deadline=None, max_examples=200)
@given(number=st.integers(0, 9999))
def test_the_words_of_a_numeral_mean_the_same_number(number: int, grammar: Grammar, kit: Kit) -> None:
    words = in_words((str(number),), grammar)
    (reading,) = understand(typed(words, grammar), grammar, kit)[:1]
    assert reading.meanings == (BareNumber(value=number),)
