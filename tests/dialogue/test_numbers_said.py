"""Numbers as they are read back: none is said like its neighbour."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.dialogue.numbers_said import cardinal, counted, minutes_said, said, spelled

TEENS_AND_TENS = [(13, 30), (14, 40), (15, 50), (16, 60), (17, 70), (18, 80), (19, 90)]


@pytest.mark.parametrize(("teen", "ten"), TEENS_AND_TENS)
def test_a_teen_and_its_ten_share_no_word_but_digits(teen: int, ten: int) -> None:
    assert said(teen) == f"one {said(teen % 10)}"
    assert said(ten) == f"{said(ten // 10)} zero"


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (1500, "fifteen hundred"),
        (1850, "one eight five zero"),
        (2000, "two thousand"),
        (900, "nine zero zero"),
        (0.5, "zero point five"),
        (2.5, "two point five"),
        (94, "nine four"),
        (8, "eight"),
        (0, "zero"),
        (-5, "minus five"),
    ],
)
def test_a_value_read_back(value: float, words: str) -> None:
    assert said(value) == words


@given(st.integers(0, 9999), st.integers(0, 9999))
def test_two_values_are_never_read_back_alike(one: int, other: int) -> None:
    assert (said(one) == said(other)) == (one == other)


@pytest.mark.parametrize(
    ("minutes", "words"),
    [
        (13.9, "thirteen minutes, one three,"),
        (30.0, "thirty minutes, three zero,"),
        (22.9, "twenty two minutes"),
        (1.99, "one minute"),
        (0.4, "zero minutes"),
        (125.0, "two hours five minutes"),
        (60.0, "sixty minutes, six zero,"),
    ],
)
def test_minutes_are_rounded_down_and_kept_apart(minutes: float, words: str) -> None:
    assert minutes_said(minutes) == words


def test_singular_and_plural() -> None:
    assert (counted(1, "litre"), counted(2, "litre"), counted(0, "litre")) == ("one litre", "two litres", "zero litres")


@pytest.mark.parametrize(
    ("size", "words"),
    [("D", "delta"), ("M15", "mike one five"), ("2 L", "two litre"), ("0.5L", "zero point five litre")],
)
def test_a_size_is_spelled(size: str, words: str) -> None:
    assert spelled(size) == words


def test_ordinary_words_reach_five_figures() -> None:
    assert cardinal(12_345) == "twelve thousand three hundred forty five"
