"""Laws of numbers: however a number is said, its value is the number, and two numbers are never made one."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from assistant.grammar import Grammar
from assistant.meaning.kinds import BareNumber, FlowRate, GaugeReading, Meaning, VitalSign
from assistant.meaning.typed import typed
from assistant.meaning.understand import understand
from assistant.oxygen.kit import Kit

# The tests' own knowledge of English numbers, apart from the grammar's.
UNITS = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
TEENS = ["ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
TENS = ["-", "-", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
RADIO = {"three": "tree", "five": "fife", "nine": "niner"}


def to_99(number: int) -> str:
    if number < 10:
        return UNITS[number]
    if number < 20:
        return TEENS[number - 10]
    return TENS[number // 10] + ("" if number % 10 == 0 else " " + UNITS[number % 10])


def digits(number: int) -> str:
    return " ".join(UNITS[int(digit)] for digit in str(number))


def on_the_radio(number: int) -> str:
    return " ".join(RADIO.get(word, word) for word in digits(number).split())


def ways_to_say(number: int) -> Iterator[str]:
    """Every usual way to say a number from 100 to 9999, and digit by digit."""
    yield digits(number)
    yield on_the_radio(number)
    yield f"figures {on_the_radio(number)}"
    hundreds, rest = divmod(number, 100)
    if hundreds < 40 and (hundreds % 10 or number == 1000):
        yield f"{to_99(hundreds)} hundred" + (f" {to_99(rest)}" if rest else "")
        if rest:
            yield f"{to_99(hundreds)} hundred and {to_99(rest)}"
    if rest >= 10 and hundreds < 40:
        yield f"{to_99(hundreds)} {to_99(rest)}"
    if number >= 1000:
        thousands, below = divmod(number, 1000)
        tail = [f"{UNITS[below // 100]} hundred"] if below >= 100 else []
        tail += [to_99(rest)] if rest else []
        yield " ".join([UNITS[thousands], "thousand", *tail])
        if rest:
            yield " ".join([UNITS[thousands], "thousand", *tail[:-1], "and", tail[-1]])


def best(text: str, grammar: Grammar, kit: Kit) -> tuple[Meaning, ...]:
    readings = understand(typed(text, grammar), grammar, kit)
    return readings[0].meanings if readings else ()


@pytest.mark.parametrize("hundreds", range(1, 33))
def test_a_pressure_in_tens_is_understood_however_it_is_said(hundreds: int, grammar: Grammar, kit: Kit) -> None:
    for number in (hundreds * 100, hundreds * 100 + 10, hundreds * 100 + 50, hundreds * 100 + 70):
        for said in ways_to_say(number):
            (reading,) = best(f"gauge reads {said} p s i", grammar, kit)
            assert isinstance(reading, GaugeReading)
            assert (reading.pressure.value, reading.pressure.unit) == (number, "psi"), said


@settings(deadline=None, max_examples=100)
@given(number=st.integers(100, 9999))
def test_a_bare_number_has_its_value_however_it_is_said(number: int, grammar: Grammar, kit: Kit) -> None:
    for said in ways_to_say(number):
        assert best(said, grammar, kit) == (BareNumber(value=number),), said


@pytest.mark.parametrize("percent", range(50, 100))
def test_every_saturation_is_understood_in_words_and_digit_by_digit(percent: int, grammar: Grammar, kit: Kit) -> None:
    meant = (VitalSign(sign="oxygen_saturation", value=percent),)
    for said in (to_99(percent), digits(percent), on_the_radio(percent)):
        assert best(f"sats {said}", grammar, kit) == meant


@pytest.mark.parametrize("tenths", range(1, 100))
def test_every_flow_in_tenths_is_understood(tenths: int, grammar: Grammar, kit: Kit) -> None:
    whole, tenth = divmod(tenths, 10)
    said = {f"{UNITS[whole]} {point} {UNITS[tenth]}" for point in ("point", "decimal")}
    said |= {f"point {UNITS[tenth]}"} if whole == 0 else set()
    said |= {f"{UNITS[whole]} and a half"} if whole and tenth == 5 else set()
    for one in said:
        (flow,) = best(f"flow {one} litres", grammar, kit)
        assert isinstance(flow, FlowRate)
        assert flow.flow.value == float(f"{whole}.{tenth}"), one


@pytest.mark.parametrize("number", range(1, 61))
def test_every_whole_flow_is_understood(number: int, grammar: Grammar, kit: Kit) -> None:
    for said in (to_99(number), digits(number), on_the_radio(number), str(number)):
        (flow,) = best(f"{said} litres", grammar, kit)
        assert isinstance(flow, FlowRate)
        assert flow.flow.value == number, said


@settings(deadline=None, max_examples=60)
@given(one=st.integers(0, 9999), other=st.integers(0, 9999))
def test_two_typed_numerals_never_become_one(one: int, other: int, grammar: Grammar, kit: Kit) -> None:
    assume(one != other)
    assert best(f"{one} {other}", grammar, kit) == ()
    assert best(f"gauge {one} {other} psi", grammar, kit) == ()


@settings(deadline=None, max_examples=150)
@given(number=st.decimals(0, 99999, allow_nan=False, allow_infinity=False, places=2))
def test_a_typed_numeral_keeps_its_value(number: object, grammar: Grammar, kit: Kit) -> None:
    assert best(f"gauge {number} psi", grammar, kit)[0].pressure.value == float(str(number))  # type: ignore[union-attr]
