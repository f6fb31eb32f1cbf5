"""The supply as it stands at a time: what screens show, replies speak and the contract's `supply` list holds."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.incident.state import Cylinder, State
from assistant.oxygen.supply import Interval
from assistant.quantity import Measure, convert


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyNow:
    """One cylinder now. `minutes` to reserve is None where size, gauge or flow is unknown or the flow is off."""

    cylinder: str
    patient: str | None
    minutes: Interval | None
    pressure: Measure | None
    flow_l_min: float | None
    size: str | None
    lacks: tuple[str, ...]


def supplies(state: State, at_s: float) -> tuple[SupplyNow, ...]:
    """Every cylinder that supplies a patient or has been read, those in use first."""
    known = [c for c in state.cylinders.values() if c.patient is not None or c.pressure_bar is not None or c.size]
    return tuple(supply_now(c, state, at_s) for c in sorted(known, key=lambda c: c.patient is None))


def supply_now(cylinder: Cylinder, state: State, at_s: float) -> SupplyNow:
    """One cylinder at `at_s`."""
    patient = state.patients.get(cylinder.patient or "")
    flow = patient.flow_l_min if patient else None
    minutes = None
    if cylinder.estimate is not None and flow:
        minutes = cylinder.estimate.minutes_to(at_s, state.kit.reserve_bar)
    return SupplyNow(
        cylinder=cylinder.name,
        patient=cylinder.patient,
        minutes=minutes,
        pressure=pressure_now(cylinder, state, at_s),
        flow_l_min=flow,
        size=cylinder.size,
        lacks=_lacks(cylinder, flow),
    )


def pressure_now(cylinder: Cylinder, state: State, at_s: float) -> Measure | None:
    """The last reading while it is fresh, else the estimate in the unit of the reading."""
    if cylinder.value is None or cylinder.unit is None:
        return None
    if cylinder.estimate is None or at_s <= (cylinder.read_at_s or 0.0):
        return Measure(value=cylinder.value, unit=cylinder.unit)
    mean_bar, _ = cylinder.estimate.pressure_bar(at_s)
    return Measure(value=round(convert(mean_bar, "bar", cylinder.unit), 1), unit=cylinder.unit)


def _lacks(cylinder: Cylinder, flow_l_min: float | None) -> tuple[str, ...]:
    """The kinds of value still needed before minutes can be told, the one to ask for first in front."""
    missing: list[str] = []
    if cylinder.size is None:
        missing.append("cylinder_size")
    if cylinder.pressure_bar is None:
        missing.append("gauge_reading")
    if flow_l_min is None:
        missing.append("flow_rate")
    return tuple(missing)
