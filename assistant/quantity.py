"""Values with units: pint stands at this door; inside, plain floats carry their unit in their name.

pint is loaded on the first conversion that needs it, so that a typed "1500 psi" costs nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """A number with the unit it was said in: psi, bar, MPa, kPa, L/min, L, min, h, °C, °F, m, ft."""

    value: float
    unit: str


class UnitError(ValueError):
    """The text is no quantity, or its unit does not fit."""


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@lru_cache(maxsize=256)
def _line(unit: str, to: str) -> tuple[float, float]:
    """Slope and intercept that turn a number in `unit` into one in `to`."""
    import pint

    registry = _registry()
    try:
        zero = float(registry.Quantity(0.0, unit).to(to).magnitude)
        one = float(registry.Quantity(1.0, unit).to(to).magnitude)
    except pint.errors.PintError as error:
        raise UnitError(f"{unit} cannot be turned into {to}") from error
    return one - zero, zero


def convert(value: float, unit: str, to: str) -> float:
    """`value` in `unit`, as a number in `to`; raises UnitError where they do not fit."""
    if unit == to:
        return value
    slope, intercept = _line(unit, to)
    return value * slope + intercept
