"""One cylinder: litres from a gauge pressure, and the gauge pressure from litres.

Takes a water capacity, a handbook factor or both, gauge bar and perhaps °C; gives litres at 15 °C and 1 atm.
Refuses, with a CylinderError or a GasError, sizes and pressures that cannot be.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from assistant.oxygen.gas import HIGHEST_BAR, GasError, gauge_bar, litres_per_water_litre
from assistant.oxygen.refusal import OxygenError

PSI_BAR = 0.0689475729316836  # exact definitions of pound, inch and gravity: NIST SP 811
HOTTEST_UNSAID_CELSIUS = 50.0  # a cylinder in the sun; where no temperature was said, it is what must still hold
FULL_WHERE_UNSAID_BAR = 2200 * PSI_BAR  # handbook factors are full litres over 2200 psi: Egan's, Cairo (from memory)
ROOM_CELSIUS = 21.1  # 70 °F, at which US cylinders are rated
# Our equation is within 0.2 % of the reference one; a difference of two of its values within this.
EQUATION_SHARE = 0.995


class CylinderError(OxygenError):
    """No such cylinder can be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CylinderSpec:
    """What one size of cylinder holds. At least one of the first two is given.

    `water_capacity_l`: litres of water. `factor_l_bar`: handbook litres per bar of gauge pressure.
    `service_bar`: gauge pressure when full, at 15 °C (70 °F for US sizes). Raises CylinderError for what cannot be.
    """

    size: str
    water_capacity_l: float | None = None
    factor_l_bar: float | None = None
    service_bar: float | None = None

    def __post_init__(self) -> None:
        given = [v for v in (self.water_capacity_l, self.factor_l_bar, self.service_bar) if v is not None]
        if self.water_capacity_l is None and self.factor_l_bar is None:
            raise CylinderError(f"Cylinder {self.size} needs its litres of water or its factor.")
        if not all(isfinite(v) and v > 0 for v in given):
            raise CylinderError(f"Cylinder {self.size} needs numbers above zero.")
        if self.service_bar is not None and self.service_bar > HIGHEST_BAR:
            raise CylinderError(f"Cylinder {self.size} cannot be filled to {self.service_bar:.0f} bar.")

    @property
    def rule_l_bar(self) -> float:
        """Litres per bar by the rule of the trade: the factor, or else water litres times bar."""
        return self.factor_l_bar if self.factor_l_bar is not None else self._water_l

    @property
    def _water_l(self) -> float:
        """Litres of water; of a bare factor, those that make it right for a full cylinder at 70 °F."""
        if self.water_capacity_l is not None:
            return self.water_capacity_l
        full_bar = self.service_bar or FULL_WHERE_UNSAID_BAR
        assert self.factor_l_bar is not None
        return self.factor_l_bar * full_bar / litres_per_water_litre(full_bar, ROOM_CELSIUS)

    def content_l(self, pressure_bar: float, celsius: float | None = None) -> float:
        """Litres above an empty gauge. With a temperature the real gas; without one the rule of the trade.

        Raises GasError for a pressure or temperature that cannot be.
        """
        if celsius is not None:
            return self._water_l * litres_per_water_litre(pressure_bar, celsius)
        litres_per_water_litre(pressure_bar, ROOM_CELSIUS)  # refuses what cannot be
        return self.rule_l_bar * pressure_bar

    def pressure_bar(self, content_l: float, celsius: float | None = None) -> float:
        """The gauge pressure at which the cylinder holds so many litres: `content_l` inverted. Raises GasError."""
        if not isfinite(content_l) or content_l < 0:
            raise GasError("A cylinder cannot hold less than nothing.")
        if celsius is not None:
            return gauge_bar(content_l / self._water_l, celsius)
        return content_l / self.rule_l_bar

    def surely_l(self, pressure_bar: float, to_bar: float, celsius: float | None = None) -> float:
        """Litres from `pressure_bar` down to `to_bar` that the real gas gives at the temperature.

        Without a temperature: at 50 °C, where a gauge reading is worth least, and no more than the rule of the trade;
        a bare factor of the carrier's own is then taken at its word, as nothing is known of the cylinder behind it.
        """
        rule = self.content_l(pressure_bar, celsius) - self.content_l(to_bar, celsius)
        if celsius is None and self.water_capacity_l is None:
            return max(0.0, rule)
        at = HOTTEST_UNSAID_CELSIUS if celsius is None else celsius
        real = self._water_l * (litres_per_water_litre(pressure_bar, at) - litres_per_water_litre(to_bar, at))
        return max(0.0, min(rule, real * EQUATION_SHARE))
