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

    `flow_l_min` is None where no setting above nought lasts, `next_cylinder` where none is known to hold enough gas.
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


def lasting_settings(state: State, patient: Patient | None, cylinder: Cylinder, at_s: float) -> tuple[float, ...]:
    """The regulator's settings that the patient's device takes and that surely last from `at_s` to hand-over."""
    if cylinder.estimate is None or state.handover_at_s is None:
        return ()
    left_min = (state.handover_at_s - at_s) / 60
    taken = [flow for flow in state.kit.flows_l_min if flow > 0 and _taken_by_device(state, patient, flow)]
    reserve_bar = state.kit.reserve_bar
    now = cylinder.estimate.at(at_s)
    lasting = [(flow, now.flowing(at_s, flow).minutes_to(at_s, reserve_bar)) for flow in taken]
    return tuple(flow for flow, minutes in lasting if minutes.low >= left_min)


def lasting_flow_l_min(state: State, patient: Patient | None, cylinder: Cylinder, at_s: float) -> float | None:
    """The highest of the settings that last; None where none does."""
    return max(lasting_settings(state, patient, cylinder, at_s), default=None)


def _flow_offered_l_min(state: State, patient: Patient, cylinder: Cylinder, at_s: float) -> float | None:
    """The flow that lasts, where it is below the patient's own.

    None while the saturation is below its target: less oxygen is no option to offer then.
    """
    if saturation_low(state, patient):
        return None
    highest = lasting_flow_l_min(state, patient, cylinder, at_s)
    return highest if highest is not None and highest < cylinder.flow_l_min else None


def _next_cylinder(state: State, patient: Patient) -> str | None:
    """The fullest spare worth changing to: one that lasts longer than what the kit allows for preparing the next.

    A bottle that was changed because it was low holds a little above the reserve, and is no way out.
    """
    worth = (
        spare.name
        for spare in spares(state)
        if _spare_min(state, spare, patient.flow_l_min or 0.0) > state.kit.reserve_near_min
    )
    return next(worth, None)


def _taken_by_device(state: State, patient: Patient | None, flow_l_min: float) -> bool:
    if patient is None or patient.device is None:
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
    return Options(
        short_min=short_min,
        flow_l_min=_flow_offered_l_min(state, patient, cylinder, at_s),
        next_cylinder=_next_cylinder(state, patient),
    )
