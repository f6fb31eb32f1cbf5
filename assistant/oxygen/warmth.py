"""How warm a cylinder is: the temperature reckoned with, as it follows the air's.

Takes °C that were told and seconds; gives °C and how far off that may be. Pure; refuses nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp

from assistant.oxygen.gas import litres_per_water_litre

# A small aluminium cylinder (2.4 kg at 900 J/kg K, 0.13 m² at 10-25 W/m² K from still to moving air) follows the air
# with a time constant of 11 to 28 minutes; our own arithmetic, no source found.
FOLLOWS_IN_MIN = 20.0
# What a cylinder wanders by when nobody says anything: sun, shade, the cold of its own outflow. Our choice.
UNSAID_SD_CELSIUS = 3.0
SAID_SD_CELSIUS = 2.0
# Part of a told change by which the gas may lag or lead its reckoning: what 11 instead of 20 minutes makes at the most.
LAG_SHARE = 0.3
BEFORE_IT_WAS_SAID_CELSIUS = 15.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Warmth:
    """The gas is taken to be at `celsius` at `at_s`, on its way to `air_celsius`; give or take `sd_celsius`.

    `reference` is the temperature at which the rule of the trade was taken for right: where a first reading came
    before any temperature, only the change since then can move the gauge. None: told before the reading.
    """

    at_s: float
    celsius: float | None = None
    air_celsius: float | None = None
    sd_celsius: float = UNSAID_SD_CELSIUS
    reference: float | None = None

    def at(self, at_s: float) -> Warmth:
        """The same, later."""
        if self.celsius is None or self.air_celsius is None:
            return replace(self, at_s=at_s)
        share = exp(-(at_s - self.at_s) / 60 / FOLLOWS_IN_MIN)
        return replace(self, at_s=at_s, celsius=self.air_celsius + (self.celsius - self.air_celsius) * share)

    def told(self, air_celsius: float, *, after_reading: bool) -> Warmth:
        """The air's temperature was said.

        Before the first reading the cylinder is taken to be as warm as the air. After it, the cylinder may have come
        from somewhere warmer or have been that cold all along: half of the change is expected, the rest is doubt.
        """
        if not after_reading:
            return replace(self, celsius=air_celsius, air_celsius=air_celsius, sd_celsius=SAID_SD_CELSIUS)
        if self.celsius is None:
            middle = (air_celsius + BEFORE_IT_WAS_SAID_CELSIUS) / 2
            doubt = SAID_SD_CELSIUS + abs(air_celsius - middle)
            return replace(self, celsius=middle, air_celsius=air_celsius, sd_celsius=doubt, reference=middle)
        doubt = SAID_SD_CELSIUS + LAG_SHARE * abs(air_celsius - self.celsius)
        return replace(self, air_celsius=air_celsius, sd_celsius=doubt)

    def swelling(self, pressure_bar: float) -> float:
        """How many times the litres of the rule of the trade a gauge pressure stands for, colder than it was read."""
        if self.reference is None or self.celsius is None:
            return 1.0
        now = litres_per_water_litre(pressure_bar, round(self.celsius, 1))
        then = litres_per_water_litre(pressure_bar, round(self.reference, 1))
        return now / then if then > 0 else 1.0
