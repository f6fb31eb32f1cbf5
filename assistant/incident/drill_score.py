"""The score of a drill, from its record alone: what was to be done, how long it took, what was missed.

Pure: takes the drill and the events of its incident; gives a sheet. Times allowed are ours, for training.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from assistant.incident.drill import BOAT_DUE_MIN, ENDS_S, Drill, told
from assistant.incident.drill_truth import changed_at_s, in_force, leak_ends_s, needle_bar, reserve_at_s
from assistant.incident.events import (
    AlertAcknowledged,
    AlertRaised,
    CylinderSized,
    DeviceFitted,
    Event,
    FlowSet,
    GaugeRead,
    HandoverExpected,
    ProblemReported,
    TemperatureNoted,
)

_OPENING_S = 120.0
_REPORT_S = 60.0
_ACT_S = 90.0
_ALERT_S = 60.0
_HANDOVER_SLACK_S = 120.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ScoreLine:
    """One thing that was to be done: when it arose, when it was done (None: missed), and the time allowed."""

    what: str
    arose_at_s: float
    done_at_s: float | None
    within_s: float
    remark: str = ""

    @property
    def seconds(self) -> float | None:
        """How long it took; None where it was missed."""
        return None if self.done_at_s is None else self.done_at_s - self.arose_at_s

    @property
    def good(self) -> bool:
        """Done, and in time."""
        return self.seconds is not None and self.seconds <= self.within_s


@dataclass(frozen=True, slots=True, kw_only=True)
class ScoreSheet:
    """The lines of a drill in order of time; `ended_at_s` is how far it was played."""

    seed: int
    lines: tuple[ScoreLine, ...]
    ended_at_s: float

    @property
    def good(self) -> int:
        """How many lines were done in time."""
        return sum(line.good for line in self.lines)

    @property
    def missed(self) -> int:
        """How many were not done at all."""
        return sum(line.done_at_s is None for line in self.lines)


def scored(drill: Drill, events: Sequence[Event]) -> ScoreSheet:
    """The sheet of what arose so far; a cue that was not told is not scored."""
    told_at_s = told(events)
    ended_at_s = told_at_s.get("end") or max((e.at_s for e in events), default=0.0)
    lines = [
        *_opening(drill, events, told_at_s),
        *_readings(drill, events, told_at_s),
        *_faults(drill, events, told_at_s),
        *_change(drill, events, ended_at_s),
        *_alerts(events),
    ]
    return ScoreSheet(seed=drill.seed, lines=tuple(sorted(lines, key=lambda x: x.arose_at_s)), ended_at_s=ended_at_s)


def _first(events: Sequence[Event], from_s: float, wanted: Callable[[Event], bool]) -> float | None:
    return next((e.at_s for e in in_force(events) if e.at_s >= from_s and wanted(e)), None)


def _opening(drill: Drill, events: Sequence[Event], told_at_s: dict[str, float]) -> list[ScoreLine]:
    began_s = told_at_s.get("bottle")
    if began_s is None:
        return []
    boat_s = began_s + BOAT_DUE_MIN * 60.0
    wanted: list[tuple[str, Callable[[Event], bool]]] = [
        ("size told", lambda e: isinstance(e, CylinderSized) and e.size == drill.truth.size),
        ("gauge told", lambda e: isinstance(e, GaugeRead) and _true(drill, events, e)),
        ("flow told", lambda e: isinstance(e, FlowSet) and e.flow_l_min == drill.truth.flow_l_min),
        ("device told", lambda e: isinstance(e, DeviceFitted) and e.device == "non_rebreather"),
        ("boat told", lambda e: isinstance(e, HandoverExpected) and abs(e.handover_at_s - boat_s) <= _HANDOVER_SLACK_S),
    ]
    return [
        ScoreLine(what=what, arose_at_s=began_s, done_at_s=_first(events, began_s, test), within_s=_OPENING_S)
        for what, test in wanted
    ]


def _readings(drill: Drill, events: Sequence[Event], told_at_s: dict[str, float]) -> list[ScoreLine]:
    return [
        ScoreLine(
            what="gauge read",
            arose_at_s=at_s,
            done_at_s=_first(events, at_s, lambda e: isinstance(e, GaugeRead) and _true(drill, events, e)),
            within_s=_REPORT_S,
        )
        for name, at_s in told_at_s.items()
        if name.startswith(("look_", "change_"))
    ]


def _true(drill: Drill, events: Sequence[Event], reading: GaugeRead) -> bool:
    """Whether the reading is what the needle showed, within the gauge's accuracy."""
    shown_bar = needle_bar(drill.truth, events, reading.at_s)
    return abs(reading.pressure_bar - shown_bar) <= drill.kit.gauge_accuracy_bar


def _faults(drill: Drill, events: Sequence[Event], told_at_s: dict[str, float]) -> list[ScoreLine]:
    made = {
        "leak": _leak,
        "wrong_reading": _wrong_reading,
        "cold_cylinder": _cold_cylinder,
        "early_handover": _early_handover,
    }
    return [line for name, lines in made.items() if name in told_at_s for line in lines(drill, events, told_at_s[name])]


def _leak(drill: Drill, events: Sequence[Event], at_s: float) -> list[ScoreLine]:
    reported_s = _first(events, at_s, lambda e: isinstance(e, ProblemReported) and e.what == "hissing")
    stopped_s = leak_ends_s(drill.truth, in_force(events))
    lost_l = drill.truth.leak_l_min * ((stopped_s or ENDS_S) - at_s) / 60.0
    return [
        ScoreLine(what="leak reported", arose_at_s=at_s, done_at_s=reported_s, within_s=_REPORT_S),
        ScoreLine(
            what="leak stopped", arose_at_s=at_s, done_at_s=stopped_s, within_s=_ACT_S, remark=f"{lost_l:.0f} L lost"
        ),
    ]


def _wrong_reading(drill: Drill, events: Sequence[Event], at_s: float) -> list[ScoreLine]:
    """Not taken, or put right: what counts is a true reading with no false one after it."""
    after = [e for e in in_force(events) if isinstance(e, GaugeRead) and e.at_s >= at_s]
    false = [e for e in after if e.at_s <= at_s + _ACT_S and not _true(drill, events, e)]
    since_s = max((e.at_s for e in false), default=at_s)
    right_s = next((e.at_s for e in after if e.at_s >= since_s and _true(drill, events, e)), None)
    line = ScoreLine(what="wrong reading caught", arose_at_s=at_s, done_at_s=right_s, within_s=_ACT_S)
    if false:
        return [replace(line, remark="taken, then put right" if line.good else "false reading taken")]
    return [line]


def _cold_cylinder(drill: Drill, events: Sequence[Event], at_s: float) -> list[ScoreLine]:
    leak = drill.truth.leak_from_s
    false = [
        e
        for e in events
        if isinstance(e, ProblemReported) and e.what == "hissing" and e.at_s >= at_s and (leak > e.at_s or leak < at_s)
    ]
    cold_s = _first(
        events, at_s, lambda e: isinstance(e, TemperatureNoted) and abs(e.celsius - drill.truth.cold_celsius) <= 2
    )
    remark = "the cold was taken for a leak" if false and leak > at_s else ""
    return [ScoreLine(what="cold told", arose_at_s=at_s, done_at_s=cold_s, within_s=_ACT_S, remark=remark)]


def _early_handover(drill: Drill, events: Sequence[Event], at_s: float) -> list[ScoreLine]:
    due_s = at_s + drill.boat_min * 60.0
    told_s = _first(
        events,
        at_s,
        lambda e: isinstance(e, HandoverExpected) and abs(e.handover_at_s - due_s) <= _HANDOVER_SLACK_S,
    )
    return [ScoreLine(what="earlier boat told", arose_at_s=at_s, done_at_s=told_s, within_s=_REPORT_S)]


def _change(drill: Drill, events: Sequence[Event], ended_at_s: float) -> list[ScoreLine]:
    """The change of cylinder: before the needle comes down to the reserve."""
    low_s = reserve_at_s(drill.truth, events, drill.kit.reserve_bar, ended_at_s)
    changed_s = changed_at_s(in_force(events))
    if low_s is None and changed_s is None:
        return []
    arose_s = changed_s if low_s is None and changed_s is not None else low_s or 0.0
    remark = "before the reserve" if low_s is None else "reserve reached first"
    return [ScoreLine(what="bottle changed", arose_at_s=arose_s, done_at_s=changed_s, within_s=0.0, remark=remark)]


def _alerts(events: Sequence[Event]) -> list[ScoreLine]:
    """High alerts: acknowledged. Repeats of the same alert count once until then."""
    lines: list[ScoreLine] = []
    waiting: dict[tuple[str, str | None, str | None], float] = {}
    for event in events:
        if isinstance(event, AlertRaised) and event.priority == "high":
            waiting.setdefault((event.alert, event.cylinder, event.patient), event.at_s)
        if isinstance(event, AlertAcknowledged):
            arose_s = waiting.pop((event.alert, event.cylinder, event.patient), None)
            if arose_s is not None:
                lines.append(_alert(event.alert, arose_s, event.at_s))
    return [*lines, *(_alert(key[0], arose_s, None) for key, arose_s in waiting.items())]


def _alert(alert: str, arose_s: float, heard_s: float | None) -> ScoreLine:
    what = f"alert heard: {alert.replace('_', ' ')}"
    return ScoreLine(what=what, arose_at_s=arose_s, done_at_s=heard_s, within_s=_ALERT_S)
