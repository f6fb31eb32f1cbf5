"""Values with units: text and Measures come in, plain floats with the unit in their name go inside.

The units of the trade are a table of exact definitions, so that a typed "1500 psi" costs nothing; any other unit goes
through pint, which is loaded on the first need. Refuses, with a UnitError, what is no quantity or does not fit.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from math import isfinite
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """A number with the unit it was said in: psi, bar, MPa, kPa, L/min, L, min, h, °C, °F, m, ft, L/psi, L/bar."""

    value: float
    unit: str

    def __str__(self) -> str:
        return f"{self.value:g} {self.unit}"


class UnitError(ValueError):
    """The text is no quantity, or its unit does not fit."""


_PSI_PA = 0.45359237 * 9.80665 / 0.0254**2  # pound, standard gravity and inch are exact: NIST SP 811, appendix B
# unit: (dimension, slope, intercept) to the first unit of its dimension
_UNITS: dict[str, tuple[str, float, float]] = {
    "bar": ("pressure", 1.0, 0.0),
    "psi": ("pressure", _PSI_PA / 1e5, 0.0),
    "MPa": ("pressure", 10.0, 0.0),
    "kPa": ("pressure", 0.01, 0.0),
    "L/min": ("flow", 1.0, 0.0),
    "L": ("volume", 1.0, 0.0),
    "mL": ("volume", 0.001, 0.0),
    "L/bar": ("factor", 1.0, 0.0),
    "L/psi": ("factor", 1e5 / _PSI_PA, 0.0),
    "min": ("time", 1.0, 0.0),
    "s": ("time", 1 / 60, 0.0),
    "h": ("time", 60.0, 0.0),
    "°C": ("temperature", 1.0, 0.0),
    "°F": ("temperature", 5 / 9, -160 / 9),
    "m": ("length", 1.0, 0.0),
    "km": ("length", 1000.0, 0.0),
    "ft": ("length", 0.3048, 0.0),
    "%": ("share", 1.0, 0.0),
}
_SPELLINGS = {
    "l": "L", "litre": "L", "litres": "L", "liter": "L", "liters": "L", "ml": "mL",
    "lpm": "L/min", "l/min": "L/min", "l/psi": "L/psi", "l/bar": "L/bar",
    "psig": "psi", "bars": "bar", "mpa": "MPa", "kpa": "kPa",
    "minute": "min", "minutes": "min", "mins": "min", "hour": "h", "hours": "h", "hr": "h", "hrs": "h",
    "second": "s", "seconds": "s", "sec": "s",
    "c": "°C", "degc": "°C", "f": "°F", "degf": "°F", "°c": "°C", "°f": "°F",
    "metre": "m", "metres": "m", "meter": "m", "meters": "m", "feet": "ft", "foot": "ft", "percent": "%",
}  # fmt: skip
_PLAIN_UNIT = re.compile(r"[^\W\d]+(?:[ /][^\W\d]+)*")
_QUANTITY = re.compile(r"\s*([-+−]?(?:\d+(?:\.\d*)?|\.\d+))\s*([^\d\s.][^\d]*?)?\s*")


def unit_named(text: str) -> str:
    """The unit as the contract spells it ("litres" is "L"); what is not in the table is given back as it is."""
    stripped = text.strip()
    return stripped if stripped in _UNITS else _SPELLINGS.get(stripped.lower().replace(" ", ""), stripped)


def parsed(text: str, *, unit: str | None = None) -> Measure:
    """The quantity a text like "200 psi", "2 L" or "0.16 L/psi" gives; `unit` is meant where the text names none.

    Raises UnitError where the text is not one number and one unit.
    """
    match = _QUANTITY.fullmatch(text)
    if match is None:
        raise UnitError(f'"{text}" is no quantity; write a number and a unit, such as "200 psi"')
    named = unit_named(match[2]) if match[2] else unit
    if named is None:
        raise UnitError(f'"{text}" names no unit')
    return Measure(value=float(match[1].replace("−", "-")), unit=named)


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@lru_cache(maxsize=256)
def _line(unit: str, to: str) -> tuple[float, float]:
    """Slope and intercept that turn a number in `unit` into one in `to`."""
    here, there = _UNITS.get(unit), _UNITS.get(to)
    if here is not None and there is not None:
        if here[0] != there[0]:
            raise UnitError(f"{unit} cannot be turned into {to}")
        return here[1] / there[1], (here[2] - there[2]) / there[1]
    return _line_of_pint(unit, to)


def _line_of_pint(unit: str, to: str) -> tuple[float, float]:
    """The same from pint, for units outside the table; pint evaluates what it is given: it gets plain words alone."""
    import pint

    if not all(_PLAIN_UNIT.fullmatch(name) for name in (unit, to)):
        raise UnitError(f"{unit} cannot be turned into {to}")

    registry = _registry()
    try:
        zero = float(registry.Quantity(0.0, unit).to(to).magnitude)
        one = float(registry.Quantity(1.0, unit).to(to).magnitude)
    except (pint.errors.PintError, ValueError, TypeError, ArithmeticError, AssertionError, AttributeError) as error:
        raise UnitError(f"{unit} cannot be turned into {to}") from error
    return one - zero, zero


def convert(value: float, unit: str, to: str) -> float:
    """`value` in `unit`, as a number in `to`, to twelve figures; raises UnitError where they do not fit."""
    if not isfinite(value):
        raise UnitError(f"{value} is no number that can be measured")
    if unit == to:
        return value
    slope, intercept = _line(unit_named(unit), unit_named(to))
    return float(f"{value * slope + intercept:.12g}")  # 68 °F is 20 °C, not 19.99999


def number_in(measure: Measure, to: str) -> float:
    """The measure's number in the unit `to`; raises UnitError where they do not fit."""
    return convert(measure.value, measure.unit, to)
