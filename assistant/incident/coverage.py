"""Does the oxygen at hand last until hand-over, and what could be done if not.

Takes a State; gives the minutes that lack and the options. The choice is the medic's and the protocol's.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from assistant.incident.state import Cylinder, Patient, State
from assistant.oxygen.devices import cautions

# The surely remaining time: the lower end of the 90 % interval.
SURE = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """What would close the gap: the highest setting that lasts on this cylinder, the next cylinder, an earlier pick-up.

    `flow_l_min` is None where no setting above nought lasts, `next_cylinder` where none is known to hold gas.
    """

    short_min: float
    flow_l_min: float | None
    next_cylinder: str | None


def uncovered(state: State, patient: Patient) -> float | None:
    """Minutes between the end of all oxygen at hand and hand-over; None where it is covered or not known.

    Counted: the cylinder in use and the rests of those in nobody's use, each down to the reserve, at the present flow.
    """
    cylinder = state.cylinders.get(patient.cylinder or "")
    if state.handover_at_s is None or not patient.flow_l_min or cylinder is None or cylinder.estimate is None:
        return None
    ends_s = cylinder.estimate.crossing_s(state.kit.reserve_bar, SURE)
    short_s = state.handover_at_s - ends_s
    if short_s <= 0 or ends_s == inf:
        return None
    short_s -= 60 * sum(_spare_min(state, spare, patient.flow_l_min) for spare in spares(state))
    return short_s / 60 if short_s > 0 else None


def saturation_low(state: State, patient: Patient) -> bool:
    """Whether the last saturation was below the patient's target, or the kit's where none was said."""
    saturation = patient.vitals.get("oxygen_saturation")
    target = state.kit.target_low if patient.target_low is None else patient.target_low
    return saturation is not None and isinstance(saturation.value, int) and saturation.value < target


def spares(state: State) -> tuple[Cylinder, ...]:
    """Cylinders that supply nobody and are known to hold more than the reserve; the fullest first."""
    held = []
    for cylinder in state.cylinders.values():
        if cylinder.patient is None and cylinder.estimate is not None:
            bar, _ = cylinder.estimate.pressure_bar(cylinder.estimate.at_s)
            if bar > state.kit.reserve_bar:
                held.append((bar, cylinder))
    return tuple(cylinder for _, cylinder in sorted(held, key=lambda pair: -pair[0]))


def _spare_min(state: State, spare: Cylinder, flow_l_min: float) -> float:
    assert spare.estimate is not None
    at_s = spare.estimate.at_s
    return (spare.estimate.flowing(at_s, flow_l_min).crossing_s(state.kit.reserve_bar, SURE) - at_s) / 60


def _lasting_flow_l_min(state: State, patient: Patient, cylinder: Cylinder, at_s: float) -> float | None:
    """The highest setting below the present one that surely lasts to hand-over and that the device takes.

    None while the saturation is below its target: less oxygen is no option to offer then.
    """
    if cylinder.estimate is None or state.handover_at_s is None or saturation_low(state, patient):
        return None
    for flow in sorted(state.kit.flows_l_min, reverse=True):
        if 0 < flow < cylinder.flow_l_min and _taken_by_device(state, patient, flow):
            ends_s = cylinder.estimate.flowing(at_s, flow).crossing_s(state.kit.reserve_bar, SURE)
            if ends_s >= state.handover_at_s:
                return flow
    return None


def _taken_by_device(state: State, patient: Patient, flow_l_min: float) -> bool:
    if patient.device is None:
        return True
    minimum = state.kit.simple_mask_minimum_l_min
    valve = patient.oxygen_percent
    return not cautions(patient.device, flow_l_min, valve_percent=valve, simple_mask_minimum_l_min=minimum)


def options(state: State, patient: Patient, at_s: float) -> Options | None:
    """What could be offered at `at_s` for a hand-over that is not covered; None where it is."""
    short_min = uncovered(state, patient)
    cylinder = state.cylinders.get(patient.cylinder or "")
    if short_min is None or cylinder is None:
        return None
    held = spares(state)
    return Options(
        short_min=short_min,
        flow_l_min=_lasting_flow_l_min(state, patient, cylinder, at_s),
        next_cylinder=held[0].name if held else None,
    )
