"""What an alert stands for: the conditions of a state, each with the time at which it falls due.

Takes a State; gives conditions, due in the past or in the future, on the incident's clock. A time depends on what was
observed and not on when it is asked for, so neither a stall nor a suspended machine can move it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf

from assistant.incident.coverage import saturation_low, uncovered
from assistant.incident.state import Cylinder, Patient, State
from assistant.oxygen.devices import Caution, cautions
from assistant.oxygen.estimate import Estimate

# Chances, tuned in simulation on other seeds than those reported (tests/benchmarks/watch/simulation.py).
NEAR_CHANCE = 0.2
SURELY_BEFORE_CHANCE = 0.015
SURELY_BEFORE_MIN = 2.0
REACHED_CHANCE = 0.5
EMPTY_CHANCE = 0.3
LOW_CHANCE = 0.05
# A reading is asked for after this share of the surely remaining time, never sooner than two minutes after the last.
READING_SHARE = 0.35
SOONEST_READING_MIN = 2.0
# A leak that begins just after a reading must be seen by the next one while there is still time: where little is left,
# a fitting that loses this much (our choice) is reckoned with, and this share of the time it would leave is waited.
FEARED_LEAK_L_MIN = 4.0
LEAK_SHARE = 0.5
# A request that went unanswered for this share of the time between readings is put more urgently; one that was only
# acknowledged is made again after as long.
UNANSWERED_SHARE = 1 / 3
# Readings are kept to a tenth of a millibar; one of just the reserve's figure is at the reserve.
ROUNDING_BAR = 1e-3
# Below this a gauge is at its pin: empty. US Navy practice keeps cylinders above 50 psi (moisture).
EMPTY_BAR = 1.0
# British Thoracic Society: reservoir mask where the first saturation is below 85 % (Thorax 2017;72 suppl 1).
VERY_LOW_SATURATION = 85


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """One alert of the contract that is or will be due: of which cylinder or patient, how urgent, since when."""

    alert: str
    priority: str
    due_s: float
    until_s: float = inf
    cylinder: str | None = None
    patient: str | None = None


def conditions(state: State) -> tuple[Condition, ...]:
    """All conditions of `state`, in no order; of one cylinder's supply only those that can still be due."""
    found: list[Condition] = []
    for cylinder in state.cylinders.values():
        patient = state.patients.get(cylinder.patient or "")
        if patient is not None and patient.cylinder == cylinder.name:
            found.extend(_of_supply(state, cylinder, patient))
    for patient in state.patients.values():
        found.extend(_of_patient(state, patient))
    return tuple(found)


def _of_supply(state: State, cylinder: Cylinder, patient: Patient) -> Iterator[Condition]:
    """A cylinder in use: down to reserve and empty, leaking, or too long unread."""
    estimate = cylinder.estimate
    if estimate is not None:
        leak = estimate.leak(estimate.at_s)
        if leak.suspected and estimate.read_at_s is not None:
            yield _supply("leak_suspected", "medium", estimate.read_at_s, inf, cylinder)
    if not cylinder.flow_l_min:
        return  # with the flow off the supply rests; what a leak took meanwhile, the reading asked for then will tell
    if estimate is None:
        yield _supply("reading_overdue", "low", _first_reading_due_s(state, cylinder, patient), inf, cylinder)
        return
    yield from _running_down(state, cylinder, estimate)


def _running_down(state: State, cylinder: Cylinder, estimate: Estimate) -> Iterator[Condition]:
    """Near reserve, at reserve, empty: each until the next worse one; and the reading asked for before."""
    kit = state.kit
    empty_s = estimate.crossing_s(0.0, EMPTY_CHANCE)
    reached_s = min(estimate.crossing_s(kit.reserve_bar, REACHED_CHANCE), empty_s)
    if cylinder.pressure_bar is not None and cylinder.read_at_s is not None:
        empty_s = cylinder.read_at_s if cylinder.pressure_bar <= EMPTY_BAR else empty_s
        reached_s = cylinder.read_at_s if cylinder.pressure_bar <= kit.reserve_bar + ROUNDING_BAR else reached_s
    near_s = _near_s(state, estimate)
    yield _supply("reserve_near", "medium", near_s, reached_s, cylinder)
    yield _supply("reserve_reached", "high", reached_s, empty_s, cylinder)
    yield _supply("empty", "high", empty_s, inf, cylinder)
    read_s = estimate.at_s if estimate.read_at_s is None else estimate.read_at_s
    interval_s = 60 * reading_interval_min(state, estimate)
    overdue_s = read_s + interval_s
    heard = state.alerts.get(("reading_overdue", cylinder.name, None))
    if heard is not None and heard.acknowledged_at_s is not None:
        overdue_s = max(overdue_s, heard.acknowledged_at_s + UNANSWERED_SHARE * interval_s)
    # Near the reserve it is urgent at once; otherwise after being left unanswered for a while.
    near = overdue_s >= near_s - 60 * kit.reserve_near_min
    urgent_s = overdue_s if near else overdue_s + UNANSWERED_SHARE * interval_s
    yield _supply("reading_overdue", "low", overdue_s, min(urgent_s, reached_s), cylinder)
    yield _supply("reading_overdue", "medium", urgent_s, reached_s, cylinder)


def _near_s(state: State, estimate: Estimate) -> float:
    """When to say that the reserve is near: the kit's minutes before it, most likely; but surely before it.

    At a high flow the first rules: four times in five there is as much time to act as the kit asks for. At a low flow
    a gauge's error is worth many minutes, and the second rules: early, rather than late.
    """
    reserve_bar = state.kit.reserve_bar
    likely_s = estimate.crossing_s(reserve_bar, NEAR_CHANCE) - 60 * state.kit.reserve_near_min
    surely_s = estimate.crossing_s(reserve_bar, SURELY_BEFORE_CHANCE) - 60 * SURELY_BEFORE_MIN
    return max(estimate.at_s, min(likely_s, surely_s))


def reading_interval_min(state: State, estimate: Estimate) -> float:
    """Minutes between readings: a share of what surely is left, or would be with a leak; at most the kit sets."""
    read_s = estimate.at_s if estimate.read_at_s is None else estimate.read_at_s
    left_min = (estimate.crossing_s(state.kit.reserve_bar, LOW_CHANCE) - read_s) / 60
    leaking_min = estimate.above_l(state.kit.reserve_bar) / (estimate.flow_l_min + FEARED_LEAK_L_MIN)
    share_min = min(READING_SHARE * left_min, LEAK_SHARE * leaking_min)
    return min(state.kit.reading_overdue_min, max(SOONEST_READING_MIN, share_min))


def flow_cautions(state: State, patient: Patient) -> tuple[Caution, ...]:
    """What speaks against the present flow through the present device, the gravest first; empty where nothing does."""
    if not patient.flow_l_min or patient.device is None:
        return ()
    return cautions(
        patient.device,
        patient.flow_l_min,
        valve_percent=patient.oxygen_percent,
        simple_mask_minimum_l_min=state.kit.simple_mask_minimum_l_min,
    )


def _first_reading_due_s(state: State, cylinder: Cylinder, patient: Patient) -> float:
    """With size or gauge unknown nothing can be watched: a minute after the flow began, then as the kit says."""
    if cylinder.read_at_s is None:
        return (patient.flow_set_at_s or 0.0) + 60
    return cylinder.read_at_s + 60 * state.kit.reading_overdue_min


def _supply(alert: str, priority: str, due_s: float, until_s: float, cylinder: Cylinder) -> Condition:
    return Condition(alert=alert, priority=priority, due_s=due_s, until_s=until_s, cylinder=cylinder.name)


def _of_patient(state: State, patient: Patient) -> Iterator[Condition]:
    saturation = patient.vitals.get("oxygen_saturation")
    if saturation is not None and saturation_low(state, patient):
        priority = "high" if float(saturation.value) < VERY_LOW_SATURATION else "medium"
        yield Condition(alert="saturation_low", priority=priority, due_s=saturation.at_s, patient=patient.name)
    if flow_cautions(state, patient):
        since_s = patient.flow_set_at_s or 0.0
        yield Condition(alert="flow_out_of_range", priority="medium", due_s=since_s, patient=patient.name)
    if uncovered(state, patient) is not None:
        since_s = max(patient.flow_set_at_s or 0.0, state.handover_later_since_s)
        until_s = state.handover_at_s or inf
        yield Condition(
            alert="handover_not_covered", priority="medium", due_s=since_s, until_s=until_s, patient=patient.name
        )
