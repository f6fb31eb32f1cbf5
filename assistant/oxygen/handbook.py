"""The rules of the trade beside the real gas: how far each is off, by size, pressure and temperature.

Takes sizes of the table; gives rows of numbers for a page or a screen.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from assistant.oxygen.gas import litres_per_water_litre
from assistant.oxygen.sizes import Size

TABLE_CELSIUS = (-20.0, 0.0, 21.1, 40.0, 50.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class HandbookRow:
    """Litres from a gauge reading down to a reserve: by the rule of the trade, and by the real gas.

    `rule`: "factor" (handbook litres per psi) or "V x P" (litres of water times bar). `off` is rule / real - 1: above
    zero the rule promises too much.
    """

    size: str
    country: str
    rule: str
    pressure_bar: float
    celsius: float
    rule_l: float
    real_l: float

    @property
    def off(self) -> float:
        return self.rule_l / self.real_l - 1


def handbook_rows(
    sizes: Iterable[Size],
    shares: Sequence[float] = (1.0, 0.5, 0.2),
    *,
    reserve_bar: float = 0.0,
    celsius: Sequence[float] = TABLE_CELSIUS,
) -> tuple[HandbookRow, ...]:
    """Rows for every size with litres of water, at shares of its service pressure above the reserve, by temperature."""
    rows = []
    for size in sizes:
        if size.water_l is None or size.service_bar is None:
            continue
        rule = "factor" if size.factor_l_psi is not None else "V x P"
        for share in shares:
            bar = share * size.service_bar
            if bar <= reserve_bar:
                continue
            for degrees in celsius:
                real = litres_per_water_litre(bar, degrees) - litres_per_water_litre(reserve_bar, degrees)
                rows.append(
                    HandbookRow(
                        size=size.letter,
                        country=size.country,
                        rule=rule,
                        pressure_bar=bar,
                        celsius=degrees,
                        rule_l=size.spec.rule_l_bar * (bar - reserve_bar),
                        real_l=size.water_l * real,
                    )
                )
    return tuple(rows)
