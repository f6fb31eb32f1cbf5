"""Reads published.toml and asks our calculator for each value: used by the tests and by the checks page."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from assistant.oxygen import devices, gas, place, supply
from assistant.oxygen.cylinders import PSI_BAR, CylinderSpec
from assistant.oxygen.lasting import Held, lasting_flow

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

_FILE = Path(__file__).with_name("published.toml")
_MMHG_HPA = 1013.25 / 760


@dataclass(frozen=True)
class PublishedValue:
    """One value in print; `ours` is set only where we disagree with it, for the reason in `disagrees`."""

    what: str
    source: str
    sure: str
    how: str
    given: dict[str, Any]
    printed: float
    unit: str
    within: float
    disagrees: str = ""
    ours: float | None = None

    def answer(self) -> float:
        """What our calculator says."""
        return float(_ANSWERS[self.how](**self.given))


def published_values() -> list[PublishedValue]:
    return [PublishedValue(**row) for row in tomllib.loads(_FILE.read_text(encoding="utf-8"))["value"]]


def _minutes_by_factor(factor_l_psi: float, pressure_psi: float, reserve_psi: float, flow_l_min: float) -> float:
    spec = CylinderSpec(size="printed", factor_l_bar=factor_l_psi / PSI_BAR)
    return supply.minutes_to(spec, pressure_psi * PSI_BAR, reserve_psi * PSI_BAR, flow_l_min).expected


def _minutes_by_water(water_l: float, pressure_bar: float, reserve_bar: float, flow_l_min: float) -> float:
    spec = CylinderSpec(size="printed", water_capacity_l=water_l)
    return supply.minutes_to(spec, pressure_bar, reserve_bar, flow_l_min).expected


def _minutes_by_content(content_l: float, flow_l_min: float) -> float:
    spec = CylinderSpec(size="printed", factor_l_bar=content_l / 150)
    return supply.minutes_to(spec, 150, 0, flow_l_min).expected


def _least_psi(factor_l_psi: float, reserve_psi: float, flow_l_min: float, minutes: float) -> float:
    spec = CylinderSpec(size="printed", factor_l_bar=factor_l_psi / PSI_BAR)
    return supply.pressure_needed_bar(spec, minutes, flow_l_min, reserve_psi * PSI_BAR) / PSI_BAR


def _litres(flow_l_min: float, minutes: float, margin: float) -> float:
    """Litres that the flow would need with the margin: what is missing from a cylinder with nothing above reserve."""
    empty = Held(name="1", spec=CylinderSpec(size="printed", factor_l_bar=1.0), pressure_bar=0.0)
    lasting = lasting_flow([empty], minutes, [1.0], reserve_bar=0.0, margin=margin, present_l_min=flow_l_min)
    assert lasting.missing_l is not None
    return lasting.missing_l


def _content(water_l: float, pressure_bar: float, celsius: float) -> float:
    return CylinderSpec(size="printed", water_capacity_l=water_l).content_l(pressure_bar, celsius)


def _inverse_z(pressure_bar: float, celsius: float) -> float:
    density = gas.density_kg_m3(pressure_bar + gas.ATMOSPHERE_BAR, celsius) / 31.9988
    return 1 / gas.compressibility(density, celsius)


def _gauge_after_psi(pressure_psi: float, was_celsius: float, now_celsius: float) -> float:
    return gas.gauge_after(pressure_psi * PSI_BAR, was_celsius, now_celsius) / PSI_BAR


_ANSWERS: dict[str, Callable[..., float]] = {
    "minutes_by_factor": _minutes_by_factor,
    "minutes_by_water": _minutes_by_water,
    "minutes_by_content": _minutes_by_content,
    "least_psi": _least_psi,
    "litres": _litres,
    "content": _content,
    "inverse_z": _inverse_z,
    "density": lambda pressure_bar, celsius: gas.density_kg_m3(pressure_bar + gas.ATMOSPHERE_BAR, celsius),
    "gauge_after_psi": _gauge_after_psi,
    "air_hpa": place.air_hpa,
    "air_mmhg": lambda metres: place.air_hpa(metres) / _MMHG_HPA,
    "air_west_mmhg": lambda metres: place.air_hpa_west(metres) / _MMHG_HPA,
    "inspired_mmhg": place.inspired_mmhg,
    "inspired_share": lambda metres: 100 * place.inspired_mmhg(metres) / place.inspired_mmhg(0),
    "venturi_ratio": lambda percent: devices.venturi_flow(percent, 1).air_per_oxygen,
    "venturi_total": lambda percent, flow_l_min: devices.venturi_flow(percent, flow_l_min).total_l_min,
    "cautions": lambda device, flow_l_min: len(devices.cautions(device, flow_l_min)),
    "gauge_limit_bar": supply.gauge_limit_bar,
}
