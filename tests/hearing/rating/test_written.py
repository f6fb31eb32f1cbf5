"""A spoken sentence is put both ways a transcript may have it: numbers in words, and in figures."""

from __future__ import annotations

import pytest

from assistant.hearing.rating.written import as_written, bare


@pytest.mark.parametrize(
    ("said", "in_figures"),
    [
        ("gauge reads fifteen hundred", "Gauge reads 1500"),
        ("gauge reads one five zero zero", "Gauge reads 1500"),
        ("one thousand five hundred and fifty psi", "1550 psi"),
        ("a thousand and ten", "A 1010"),
        ("two thousand one hundred", "2100"),
        ("eighteen fifty", "1850"),
        ("one oh five", "105"),
        ("pulse one hundred and twelve", "Pulse 112"),
        ("hundred and twenty over eighty", "120 over 80"),
        ("seven fife zero", "750"),
        ("flow two point five litres", "Flow 2.5 liters"),
        ("zero decimal five", "0.5"),
        ("sats ninety six percent", "Sats 96%"),
        ("ten at fifteen", "10 at 15"),
        ("forty and fifty", "40 and 50"),
    ],
)
def test_numbers_are_written_in_figures_too(said: str, in_figures: str) -> None:
    words, figures = as_written(said.split())
    assert figures == in_figures
    assert not any(sign.isdigit() for sign in words)


@pytest.mark.parametrize(
    ("said", "written"),
    [
        ("how long do we have", "How long do we have"),
        ("i'm on the b v m", "I'm on the BVM"),
        ("a b v m", "A BVM"),
        ("p s i", "PSI"),
        ("the point is", "The point is"),
        ("percent", "Percent"),
    ],
)
def test_a_sentence_without_a_number_is_written_once(said: str, written: str) -> None:
    assert as_written(said.split()) == (written,)


def test_both_ways_begin_with_a_capital() -> None:
    assert as_written(["fifteen", "litres"]) == ("Fifteen liters", "15 liters")


@pytest.mark.parametrize(
    ("text", "without"),
    [
        ("Yes, that's right.", "yes that's right"),
        ("Flow is 2.5 litres!", "flow is 2.5 litres"),
        ("1,500... psi?", "1 500 psi"),
        ("96%.", "96%"),
        ("", ""),
    ],
)
def test_a_text_is_bare_without_marks_and_capitals(text: str, without: str) -> None:
    assert bare(text) == without
