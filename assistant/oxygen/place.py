"""Height above the sea: air pressure, oxygen breathed in, and what it does and does not do to the minutes.

Takes metres (geopotential) and percent; gives hPa, mmHg and shares. Refuses heights outside -500 to 9000 m.

Altitude and the minutes. A cylinder holds an amount of gas, and a gauge reads against the air outside, whose change
(at 5000 m, half a bar of 140) is far below the gauge's own error. What leaves it in a minute depends on the regulator:
* Fixed orifice: the flow through the orifice is choked, so the mass that passes goes with the absolute pressure
  before it. The regulator holds about 3.4 bar (50 psi; 40-70 in print) above the air outside, so at height a little
  less passes: at 5000 m about 0.9 of the setting. The litres at the patient are larger, as the air is thinner.
* Float flowmeter: the float is carried by density times speed squared, so indicated litres are too few by
  sqrt(P0 / P) in volume and too many by sqrt(P / P0) in mass: 0.73 of the setting at 5000 m.
Either way the cylinder lasts as long or longer, never shorter; the minutes that are spoken count on none of it.
Physics only: no document was found that prints this.
"""

from __future__ import annotations

from math import exp, isfinite, log, sqrt

from assistant.oxygen.refusal import OxygenError

SEA_LEVEL_HPA = 1013.25
WATER_VAPOUR_MMHG = 47.0  # saturated at 37 °C; Arch Dis Child's altitude table uses 47.1
HPA_MMHG = 760 / SEA_LEVEL_HPA
DRY_AIR_PERCENT = 20.95
REGULATED_HPA = 3447.0  # 50 psi above the air outside: Auerbach; 40-70 psi in the AAOS chapter


class PlaceError(OxygenError):
    """No one takes a cylinder there."""


def _check(metres: float) -> None:
    if not isfinite(metres) or not -500 <= metres <= 9000:
        raise PlaceError(f"{metres:g} metres is outside what I can reckon with.")


def air_hpa(metres: float) -> float:
    """Pressure of the standard atmosphere, in hPa (ISO 2533:1975; the same as ICAO Doc 7488). Raises PlaceError."""
    _check(metres)
    return float(SEA_LEVEL_HPA * (1 - 0.0065 * metres / 288.15) ** (9.80665 / (287.05287 * 0.0065)))


def air_hpa_west(metres: float) -> float:
    """The same by West's model for mountains in summer, which is a little higher (J Appl Physiol 1996;81:1850)."""
    _check(metres)
    km = metres / 1000
    return exp(6.63268 - 0.1112 * km - 0.00149 * km * km) / HPA_MMHG


def metres_at(hpa: float) -> float:
    """The height at which the standard atmosphere has that pressure: `air_hpa` turned round. Raises PlaceError."""
    if not isfinite(hpa) or hpa <= 0:
        raise PlaceError("Air pressure has to be above zero.")
    metres = 288.15 / 0.0065 * (1 - exp(log(hpa / SEA_LEVEL_HPA) * 287.05287 * 0.0065 / 9.80665))
    _check(metres)
    return metres


def inspired_mmhg(metres: float, oxygen_percent: float = DRY_AIR_PERCENT) -> float:
    """Partial pressure of the oxygen breathed in, wet and warm: F x (air - 47 mmHg). Raises PlaceError."""
    if not 0 < oxygen_percent <= 100:
        raise PlaceError(f"Nobody breathes {oxygen_percent:g} percent oxygen.")
    return oxygen_percent / 100 * (air_hpa(metres) * HPA_MMHG - WATER_VAPOUR_MMHG)


def sea_level_percent(metres: float, oxygen_percent: float = DRY_AIR_PERCENT) -> float:
    """The percentage that gives as much at sea level: breathing 50 % at 3000 m is like 34 % at the sea."""
    return 100 * inspired_mmhg(metres, oxygen_percent) / (760 - WATER_VAPOUR_MMHG)


def percent_like_sea_level(metres: float) -> float:
    """The percentage that is like breathing air at sea level; above 100 where not even oxygen is."""
    return 100 * inspired_mmhg(0.0) / (air_hpa(metres) * HPA_MMHG - WATER_VAPOUR_MMHG)


def passed_share(regulator: str, metres: float) -> float:
    """The share of the set flow, in litres at 1 atm, that leaves the cylinder at a height; see the head of this file.

    `regulator` is "fixed_orifice" or "float". Never above 1: below the sea nothing is added. Raises PlaceError.
    """
    air = air_hpa(metres)
    if regulator == "fixed_orifice":
        return min(1.0, (REGULATED_HPA + air) / (REGULATED_HPA + SEA_LEVEL_HPA))
    if regulator == "float":
        return min(1.0, sqrt(air / SEA_LEVEL_HPA))
    raise PlaceError(f"I know no regulator called {regulator.replace('_', ' ')}.")
