"""Somebody who plays a drill second by second, and what a good one does on each cue."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from assistant.incident import drill as dr
from assistant.incident.drill_truth import needle_bar
from assistant.incident.events import (
    CylinderChanged,
    CylinderSized,
    DeviceFitted,
    Event,
    FlowSet,
    GaugeRead,
    HandoverExpected,
    ProblemReported,
    TemperatureNoted,
)
from assistant.oxygen.kit import default_kit
from assistant.quantity import convert

KIT = default_kit()


@dataclass(kw_only=True)
class Trainee:
    """Plays a drill second by second; `hears` gives what it does on a cue, as events at the cue's time plus a delay."""

    drill: dr.Drill
    hears: dict[str, Callable[[Trainee, float], list[Event]]]
    delay_s: float = 10.0
    events: list[Event] = field(default_factory=list)

    def plays(self, to_s: float = dr.ENDS_S) -> Trainee:
        self.events.append(dr.begun(self.drill))
        waiting: list[tuple[float, Callable[[Trainee, float], list[Event]]]] = []
        for second in range(int(to_s) + 1):
            at_s = float(second)
            for cue in dr.cues_due(self.drill, self.events, at_s):
                self.events.append(cue)
                act = self.hears.get(cue.cue) or self.hears.get(cue.cue.split("_")[0])
                waiting += [(at_s + self.delay_s, act)] if act else []
            for due_s, act in [w for w in waiting if w[0] <= at_s]:
                waiting.remove((due_s, act))
                self.events += act(self, at_s)
        return self

    def needle(self, at_s: float, above_bar: float = 0.0) -> GaugeRead:
        bar = needle_bar(self.drill.truth, self.events, at_s) + above_bar
        psi = convert(bar, "bar", "psi")
        return GaugeRead(at_s=at_s, cylinder="1", value=psi, unit="psi", pressure_bar=bar)


def _opening(t: Trainee, at_s: float) -> list[Event]:
    return [
        CylinderSized(at_s=at_s, cylinder="1", size=t.drill.truth.size),
        t.needle(at_s),
        FlowSet(at_s=at_s, patient="1", flow_l_min=15.0),
        DeviceFitted(at_s=at_s, patient="1", device="non_rebreather"),
        HandoverExpected(at_s=at_s, handover_at_s=at_s + 70 * 60),
    ]


def _stops_leak(t: Trainee, at_s: float) -> list[Event]:
    return [
        ProblemReported(at_s=at_s, what="hissing"),
        FlowSet(at_s=at_s + 5, patient="1", flow_l_min=0.0),
        FlowSet(at_s=at_s + 40, patient="1", flow_l_min=15.0),
    ]


GOOD: dict[str, Callable[[Trainee, float], list[Event]]] = {
    "bottle": _opening,
    "look": lambda t, s: [t.needle(s)],
    "leak": _stops_leak,
    "own_eyes": lambda t, s: [t.needle(s)],
    "cold_cylinder": lambda t, s: [TemperatureNoted(at_s=s, celsius=t.drill.truth.cold_celsius)],
    "early_handover": lambda t, s: [HandoverExpected(at_s=s, handover_at_s=s + t.drill.boat_min * 60)],
    "look_4": lambda t, s: [t.needle(s), CylinderChanged(at_s=s + 1, cylinder="2", patient="1")],
    "change": lambda t, s: [t.needle(s)],
}


def good(seed: int, delay_s: float = 10.0, **other: Callable[[Trainee, float], list[Event]]) -> Trainee:
    hears = {**GOOD, **other}
    return Trainee(drill=dr.drill_of(seed, KIT), hears=hears, delay_s=delay_s)
