"""A small part of the million typed lines, each time the same; and that the comparison with the words finds slips."""

from __future__ import annotations

import pytest

from assistant.meaning import kinds as k
from assistant.quantity import Measure
from tests.fuzz.invention import fault
from tests.fuzz.numbers_in_words import numbers
from tests.fuzz.utterances import fuzzed

LINES = 2_000


def _gauge(value: float, unit: str = "psi") -> k.GaugeReading:
    return k.GaugeReading(pressure=Measure(value=value, unit=unit))


def test_typed_lines_crash_nothing_and_bring_no_number_that_was_not_said() -> None:
    found = fuzzed(LINES, seed=3)
    assert found.crashes == []
    assert found.inventions == []
    assert found.outcomes["taken"] > LINES / 10
    assert found.readings > LINES / 4
    assert found.values > LINES / 10


@pytest.mark.parametrize(
    ("words", "value"),
    [
        ("fifteen hundred", 1500),
        ("one five zero zero", 1500),
        ("eighteen fifty", 1850),
        ("one thousand five hundred and fifty", 1550),
        ("one twenty five", 125),
        ("two point five", 2.5),
        ("one and a half", 1.5),
        ("minus ten", -10),
        ("one oh five", 105),
        ("1,500", 1500),
    ],
)
def test_the_second_reader_knows_how_numbers_are_said(words: str, value: float) -> None:
    assert value in numbers(tuple(words.split()))


@pytest.mark.parametrize(
    "words", ["fifteen and", "hundred litres", "1.5.0", "1,5", "litres", "point", "five hundred thousand six thousand"]
)
def test_the_second_reader_makes_no_number_of_what_is_none(words: str) -> None:
    assert not numbers(tuple(words.split()))


@pytest.mark.parametrize(
    ("text", "meaning"),
    [
        ("gauge reads fifteen hundred", _gauge(1400)),
        ("gauge reads fifteen hundred", _gauge(15)),
        ("gauge reads fifteen hundred", _gauge(500)),
        ("gauge reads 1500", _gauge(150)),
        ("gauge reads one five zero zero", _gauge(500)),
        ("boat in an hour and ten minutes", k.TimeToHandover(minutes=60)),
        ("altitude two thousand feet", k.Altitude(metres=600)),
        ("sats ninety four for patient two", k.VitalSign(sign="oxygen_saturation", value=94)),
        ("sats ninety four", k.VitalSign(sign="oxygen_saturation", value=94, patient="2")),
    ],
)
def test_a_bent_or_lost_number_is_found(text: str, meaning: k.Meaning) -> None:
    assert fault(text, text.split(), (meaning,), frozenset()) is not None


@pytest.mark.parametrize(
    ("text", "meaning"),
    [
        ("gauge reads fifteen no sixteen hundred", _gauge(1600)),
        ("13700 kpa", _gauge(13.7, "MPa")),
        ("boat in an hour and a half", k.TimeToHandover(minutes=90)),
        ("altitude two thousand feet", k.Altitude(metres=609.6)),
        ("flow off", k.FlowRate(flow=Measure(value=0, unit="L/min"))),
        ("half a litre", k.FlowRate(flow=Measure(value=0.5, unit="L/min"))),
    ],
)
def test_a_number_that_was_said_another_way_is_none(text: str, meaning: k.Meaning) -> None:
    assert fault(text, text.split(), (meaning,), frozenset()) is None
