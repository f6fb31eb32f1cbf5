"""What is true in a drill: the needle of the cylinder in use, from the flows that were set, the leak and the cold.

Pure. Pressures in bar (gauge), flows in L/min, °C, seconds of the incident's clock.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assistant.incident.events import CylinderChanged, Event, FlowSet, ProblemReported, Withdrawn
from assistant.oxygen.cylinders import CylinderSpec

_AIR_CELSIUS = 15.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """The facts behind the cues. The first cylinder leaks and gets cold; the second is sound and of the same size."""

    spec: CylinderSpec
    size: str
    start_bar: float
    second_bar: float
    flow_l_min: float
    leak_from_s: float
    leak_l_min: float
    cold_from_s: float
    cold_celsius: float


def in_force(events: Sequence[Event]) -> tuple[Event, ...]:
    """`events` without those that were withdrawn; the number of an event is its place, from 1."""
    gone = {n for e in events if isinstance(e, Withdrawn) for n in e.numbers}
    return tuple(e for number, e in enumerate(events, start=1) if number not in gone)


def needle_bar(truth: Truth, events: Sequence[Event], at_s: float) -> float:
    """The gauge of the cylinder in use at `at_s`."""
    facts = in_force(events)
    change_s = changed_at_s(facts)
    if change_s is not None and change_s <= at_s:
        used_l = _used_l(truth, facts, change_s, at_s)
        return _pressure_bar(truth, truth.second_bar, used_l, _AIR_CELSIUS)
    used_l = _used_l(truth, facts, 0.0, at_s) + _leaked_l(truth, facts, at_s)
    cold = truth.cold_celsius if at_s >= truth.cold_from_s else _AIR_CELSIUS
    return _pressure_bar(truth, truth.start_bar, used_l, cold)


def changed_at_s(events: Sequence[Event]) -> float | None:
    """When the first change of cylinder was made."""
    return next((e.at_s for e in events if isinstance(e, CylinderChanged)), None)


def reserve_at_s(truth: Truth, events: Sequence[Event], reserve_bar: float, to_s: float) -> float | None:
    """When the first cylinder came down to the reserve while in use, to a second; None where it did not by `to_s`."""
    change_s = changed_at_s(in_force(events))
    last_s = to_s if change_s is None else min(change_s, to_s)
    return next((float(s) for s in range(int(last_s)) if needle_bar(truth, events, s) <= reserve_bar), None)


def leak_ends_s(truth: Truth, events: Sequence[Event]) -> float | None:
    """When the leak was stopped: the valve shut after the hissing was reported, or the cylinder changed."""
    reported = [e.at_s for e in events if isinstance(e, ProblemReported) and e.what == "hissing"]
    heard_s = next((s for s in reported if s >= truth.leak_from_s), None)
    shut = [e.at_s for e in events if isinstance(e, FlowSet) and e.flow_l_min == 0]
    ends = [s for s in shut if heard_s is not None and s >= heard_s]
    change_s = changed_at_s(events)
    if change_s is not None and change_s >= truth.leak_from_s:
        ends.append(change_s)
    return min(ends, default=None)


def _used_l(truth: Truth, events: Sequence[Event], from_s: float, to_s: float) -> float:
    """Litres that flowed: the flow of the scenario until one is set."""
    flow, since_s, used_l = truth.flow_l_min, 0.0, 0.0
    for event in events:
        if isinstance(event, FlowSet) and event.at_s <= to_s:
            used_l += flow * max(0.0, event.at_s - max(since_s, from_s)) / 60.0
            flow, since_s = event.flow_l_min, event.at_s
    return used_l + flow * max(0.0, to_s - max(since_s, from_s)) / 60.0


def _leaked_l(truth: Truth, events: Sequence[Event], to_s: float) -> float:
    end_s = leak_ends_s(truth, events)
    until_s = to_s if end_s is None else min(to_s, end_s)
    return truth.leak_l_min * max(0.0, until_s - truth.leak_from_s) / 60.0


def _pressure_bar(truth: Truth, start_bar: float, used_l: float, celsius: float) -> float:
    left_l = truth.spec.content_l(start_bar, _AIR_CELSIUS) - used_l
    return truth.spec.pressure_bar(left_l, celsius) if left_l > 0 else 0.0
