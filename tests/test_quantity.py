"""Values with units: the table of the trade's units agrees with pint, text is read, nonsense refused."""

from itertools import product

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.quantity import Measure, UnitError, convert, number_in, parsed

registry = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
FAMILIES = {
    "pressure": ("psi", "bar", "MPa", "kPa"),
    "volume": ("L", "mL"),
    "time": ("min", "h", "s"),
    "temperature": ("°C", "°F"),
    "length": ("m", "km", "ft"),
    "factor": ("L/psi", "L/bar"),
}
PAIRS = [pair for family in FAMILIES.values() for pair in product(family, repeat=2)]


@pytest.mark.parametrize(("unit", "to"), PAIRS)
@pytest.mark.parametrize("value", [-40.0, 0.5, 1500.0])
def test_the_table_agrees_with_pint(unit: str, to: str, value: float) -> None:
    theirs = registry.Quantity(value, unit).to(to).magnitude
    assert convert(value, unit, to) == pytest.approx(theirs, rel=1e-9, abs=1e-9)


@given(st.sampled_from(PAIRS), st.floats(min_value=-1e4, max_value=1e6))
def test_there_and_back(pair: tuple[str, str], value: float) -> None:
    there, back = pair
    assert convert(convert(value, there, back), back, there) == pytest.approx(value, rel=1e-9, abs=1e-7)


def test_round_figures_stay_round() -> None:
    assert convert(68, "°F", "°C") == 20.0
    assert convert(32, "°F", "°C") == 0.0
    assert convert(-40, "°C", "°F") == -40.0
    assert convert(20, "MPa", "bar") == 200.0
    assert convert(1.5, "h", "min") == 90.0
    assert convert(10000, "ft", "m") == 3048.0


def test_units_outside_the_table_go_through_pint() -> None:
    assert convert(760, "mmHg", "kPa") == pytest.approx(101.325, rel=1e-6)
    assert convert(1, "US_pint", "L") == pytest.approx(0.473176473)


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("200 psi", 200, "psi"),
        ("200psi", 200, "psi"),
        ("2 L", 2, "L"),
        ("2 litres", 2, "L"),
        ("0.16 L/psi", 0.16, "L/psi"),
        (".5 l/min", 0.5, "L/min"),
        ("-10 °C", -10, "°C"),
        ("−10 degC", -10, "°C"),
        ("1.5 hours", 1.5, "h"),
        ("2.5 %", 2.5, "%"),
    ],
)
def test_text_is_read(text: str, value: float, unit: str) -> None:
    assert parsed(text) == Measure(value=value, unit=unit)


def test_a_number_alone_takes_the_unit_that_is_meant() -> None:
    assert parsed("140", unit="bar") == Measure(value=140, unit="bar")
    assert str(parsed("140", unit="bar")) == "140 bar"
    assert number_in(parsed("1 MPa"), "bar") == 10


@pytest.mark.parametrize("text", ["", "psi", "about 200 psi", "200 psi 3", "1.2.3 bar", "12 34 psi", "nan bar", "140"])
def test_what_is_no_quantity_is_refused(text: str) -> None:
    with pytest.raises(UnitError):
        parsed(text)


@pytest.mark.parametrize(("unit", "to"), [("psi", "L"), ("°C", "bar"), ("parrots", "bar"), ("mmHg", "L"), ("", "bar")])
def test_units_that_do_not_fit_are_refused(unit: str, to: str) -> None:
    with pytest.raises(UnitError, match="cannot be turned into"):
        convert(1, unit, to)


def test_what_is_no_number_is_refused() -> None:
    with pytest.raises(UnitError, match="no number"):
        convert(float("nan"), "psi", "bar")
