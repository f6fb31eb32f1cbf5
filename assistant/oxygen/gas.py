"""Real oxygen: what a litre of cylinder holds, from gauge pressure and temperature, and the gauge from what it holds.

Takes gauge bar, °C and litres at 15 °C and 1 atm; pure numbers, no rounding.
Refuses temperatures outside -60 to 80 °C and pressures outside 0 to 400 bar, with a GasError that can be spoken.
"""

from __future__ import annotations

from functools import lru_cache
from math import exp, isfinite

from assistant.oxygen.refusal import OxygenError

ATMOSPHERE_BAR = 1.01325
REFERENCE_CELSIUS = 15.0  # UK collar marks and European labels give litres at 15 °C (Lutman & Petros, EMJ 2006;23:703)
COLDEST_CELSIUS, HOTTEST_CELSIUS = -60.0, 80.0
HIGHEST_BAR = 400.0

_KELVIN = 273.15
_GAS_CONSTANT = 8.314472  # J/(mol K), as GERG-2008 uses it: Kunz & Wagner, J. Chem. Eng. Data 2012;57:3032
_GRAM_PER_MOL = 31.9988
_CRITICAL_K = 154.595
_CRITICAL_MOL_L = 13.63
# Residual Helmholtz energy of oxygen in twelve terms, n * delta^d * tau^t * exp(-delta^l): Span & Wagner, Int. J.
# Thermophys. 2003;24:41-109 (technical equations, non-polar fluids), taken over by GERG-2008, table A3.2. It is
# another equation than the one of the reference tables (Schmidt & Wagner 1985), so a check against those is a check.
_TERMS = (
    (0.88878286369701, 1, 0.25, 0),
    (-2.4879433312148, 1, 1.125, 0),
    (0.59750190775886, 1, 1.5, 0),
    (0.0096501817061881, 2, 1.375, 0),
    (0.071970428712770, 3, 0.25, 0),
    (0.00022337443000195, 7, 0.875, 0),
    (0.18558686391474, 2, 0.625, 1),
    (-0.038129368035760, 5, 1.75, 1),
    (-0.15352245383006, 1, 3.625, 2),
    (-0.026726814910919, 4, 3.625, 2),
    (-0.025675298677127, 3, 14.5, 3),
    (0.0095714302123668, 4, 12.0, 3),
)


class GasError(OxygenError):
    """The pressure or the temperature is outside what a cylinder can be in."""


@lru_cache(maxsize=512)
def _coefficients(celsius: float) -> tuple[float, ...]:
    """The twelve n * tau^t at one temperature, so that a pressure costs only powers of the density."""
    tau = _CRITICAL_K / (celsius + _KELVIN)
    return tuple(n * tau**t for n, _, t, _ in _TERMS)


def compressibility(density_mol_l: float, celsius: float) -> float:
    """Z = p / (rho R T) at a density in mol/L, by 1 + delta * d(alpha_r)/d(delta)."""
    delta = density_mol_l / _CRITICAL_MOL_L
    a = _coefficients(celsius)
    d2 = delta * delta
    d3 = d2 * delta
    d4 = d2 * d2
    plain = delta * (a[0] + a[1] + a[2]) + 2 * a[3] * d2 + 3 * a[4] * d3 + 7 * a[5] * d4 * d3
    first = exp(-delta) * (a[6] * d2 * (2 - delta) + a[7] * d4 * delta * (5 - delta))
    second = exp(-d2) * (a[8] * delta * (1 - 2 * d2) + a[9] * d4 * (4 - 2 * d2))
    third = exp(-d3) * (a[10] * d3 * (3 - 3 * d3) + a[11] * d4 * (4 - 3 * d3))
    return 1 + plain + first + second + third


def absolute_bar(density_mol_l: float, celsius: float) -> float:
    """Absolute pressure, in bar, of oxygen at a density in mol/L."""
    ideal_bar = density_mol_l * _GAS_CONSTANT * (celsius + _KELVIN) / 100
    return ideal_bar * compressibility(density_mol_l, celsius)


def _density_mol_l(pressure_abs_bar: float, celsius: float) -> float:
    """Density by secant steps from Z = 0.95; above the critical temperature there is one root."""
    ideal = pressure_abs_bar * 100 / (_GAS_CONSTANT * (celsius + _KELVIN))
    before, density = ideal, ideal / 0.95
    before_bar = absolute_bar(before, celsius)
    for _ in range(30):
        bar = absolute_bar(density, celsius)
        if abs(bar - pressure_abs_bar) <= 1e-9 * pressure_abs_bar or bar == before_bar:
            return density
        step = (pressure_abs_bar - bar) * (density - before) / (bar - before_bar)
        before, before_bar, density = density, bar, density + step
    raise GasError("I cannot work out the gas at that pressure and temperature.")


def density_kg_m3(pressure_abs_bar: float, celsius: float) -> float:
    """Density at an absolute pressure in bar, in kg/m3. Raises GasError."""
    _check(max(0.0, pressure_abs_bar - ATMOSPHERE_BAR), celsius)
    return _density_mol_l(pressure_abs_bar, celsius) * _GRAM_PER_MOL


@lru_cache(maxsize=64)
def _residual_mol_l(celsius: float) -> float:
    """What stays in a litre of cylinder when the gauge is at zero: gas at 1 atm."""
    return _density_mol_l(ATMOSPHERE_BAR, celsius)


@lru_cache(maxsize=1)
def _litres_per_mol() -> float:
    return 1 / _density_mol_l(ATMOSPHERE_BAR, REFERENCE_CELSIUS)


def _check(pressure_bar: float, celsius: float) -> None:
    if not isfinite(celsius) or not COLDEST_CELSIUS <= celsius <= HOTTEST_CELSIUS:
        raise GasError(f"A cylinder at {celsius:g} degrees Celsius is outside what I can reckon with.")
    if not isfinite(pressure_bar) or pressure_bar < 0:
        raise GasError("A gauge cannot read below zero.")
    if pressure_bar > HIGHEST_BAR:
        raise GasError(f"{pressure_bar:.0f} bar is more than any oxygen cylinder holds.")


@lru_cache(maxsize=4096)
def litres_per_water_litre(pressure_bar: float, celsius: float) -> float:
    """Deliverable litres (15 °C, 1 atm) for each litre of water capacity, from gauge bar at °C down to an empty gauge.

    Within 0.2 % of the Schmidt & Wagner (1985) equation from -30 to 50 °C and 1 to 300 bar. Raises GasError.
    """
    _check(pressure_bar, celsius)
    density = _density_mol_l(pressure_bar + ATMOSPHERE_BAR, celsius)
    return (density - _residual_mol_l(celsius)) * _litres_per_mol()


def gauge_bar(litres_per_litre: float, celsius: float) -> float:
    """Gauge bar at which a litre of water capacity holds so many litres: the inverse. Raises GasError."""
    _check(0.0, celsius)
    if not isfinite(litres_per_litre) or litres_per_litre < 0:
        raise GasError("A cylinder cannot hold less than nothing.")
    density = litres_per_litre / _litres_per_mol() + _residual_mol_l(celsius)
    bar = absolute_bar(density, celsius) - ATMOSPHERE_BAR
    if bar > HIGHEST_BAR * 1.5:
        raise GasError(f"{bar:.0f} bar is more than any oxygen cylinder holds.")
    return max(0.0, bar)


def gauge_after(pressure_bar: float, was_celsius: float, now_celsius: float) -> float:
    """What the gauge of a closed cylinder reads once it has gone from one temperature to another. Raises GasError.

    2015 psi at 21 °C reads about 1620 psi at -20 °C with nothing lost, so a cold night is no leak.
    """
    return gauge_bar(litres_per_water_litre(pressure_bar, was_celsius), now_celsius)
