"""The drill: one seed gives one plot, the needle follows what is done, and the score tells hits from misses."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass, field

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.console import Console

from assistant.incident import drill as dr
from assistant.incident.drill_score import ScoreLine, ScoreSheet, scored
from assistant.incident.drill_truth import needle_bar
from assistant.incident.events import (
    AlertAcknowledged,
    AlertRaised,
    CylinderChanged,
    CylinderSized,
    DeviceFitted,
    DrillCued,
    Event,
    FlowSet,
    GaugeRead,
    HandoverExpected,
    ProblemReported,
    TemperatureNoted,
    Withdrawn,
)
from assistant.oxygen.kit import default_kit
from assistant.quantity import convert
from assistant.screens.drill_view import show_sheet

KIT = default_kit()
SEEDS = st.integers(min_value=0, max_value=10_000)


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


def _good(seed: int, delay_s: float = 10.0, **other: Callable[[Trainee, float], list[Event]]) -> Trainee:
    hears = {**GOOD, **other}
    return Trainee(drill=dr.drill_of(seed, KIT), hears=hears, delay_s=delay_s)


def _line(sheet: ScoreSheet, what: str) -> ScoreLine:
    return next(line for line in sheet.lines if line.what == what)


@given(SEEDS)
@settings(max_examples=60, deadline=None)
def test_the_same_seed_gives_the_same_drill_with_every_fault_once(seed: int) -> None:
    drill = dr.drill_of(seed, KIT)
    assert drill == dr.drill_of(seed, KIT)
    assert [cue.name for cue in drill.cues if cue.name in dr.FAULTS].__len__() == len(dr.FAULTS)
    assert [cue.at_s for cue in drill.cues] == sorted(cue.at_s for cue in drill.cues)
    assert drill.cues[-1].name == "end"


def test_seeds_differ() -> None:
    orders = {tuple(c.name for c in dr.drill_of(seed, KIT).cues if c.name in dr.FAULTS) for seed in range(60)}
    assert len(orders) > 12


@given(SEEDS)
@settings(max_examples=30, deadline=None)
def test_no_cue_is_longer_than_can_be_kept_in_mind(seed: int) -> None:
    words = [s for cue in dr.drill_of(seed, KIT).cues for s in cue.say.split(". ")]
    assert max(len(s.split()) for s in words) <= 12


def test_each_cue_is_told_once_and_in_time() -> None:
    drill = dr.drill_of(3, KIT)
    events: list[Event] = [dr.begun(drill)]
    told = []
    while (next_s := dr.next_cue_s(drill, events)) is not None:
        cues = dr.cues_due(drill, events, next_s)
        assert cues
        events += cues
        told += [cue.cue for cue in cues]
    assert told == [cue.name for cue in drill.cues]
    assert dr.over(events)
    assert dr.cues_due(drill, events, 2 * dr.ENDS_S) == ()


def test_the_record_says_that_it_is_a_drill() -> None:
    assert dr.seed_of([dr.begun(dr.drill_of(41, KIT))]) == 41
    assert dr.seed_of([ProblemReported(at_s=0.0, what="hissing")]) is None


@given(SEEDS)
@settings(max_examples=20, deadline=None)
def test_the_needle_falls_faster_with_the_leak_and_with_the_cold(seed: int) -> None:
    drill = dr.drill_of(seed, KIT)
    leak_s = drill.truth.leak_from_s
    stopped: list[Event] = [
        ProblemReported(at_s=leak_s + 60, what="hissing"),
        FlowSet(at_s=leak_s + 60, patient="1", flow_l_min=0.0),
        FlowSet(at_s=leak_s + 60.1, patient="1", flow_l_min=15.0),
    ]
    for fault in ("leak", "cold_cylinder"):
        at_s = drill.cue(fault).at_s
        events = [dr.begun(drill), *stopped]
        before = needle_bar(drill.truth, events, at_s - 61) - needle_bar(drill.truth, events, at_s - 1)
        after = needle_bar(drill.truth, events, at_s - 1) - needle_bar(drill.truth, events, at_s + 59)
        assert after > before * 1.2


def test_the_needle_stands_still_with_the_flow_off_and_starts_anew_on_the_second_bottle() -> None:
    drill = dr.drill_of(0, KIT)
    off: list[Event] = [FlowSet(at_s=0.0, patient="1", flow_l_min=0.0)]
    start = needle_bar(drill.truth, off, 0.0)
    assert needle_bar(drill.truth, off, 100.0) == pytest.approx(start)
    changed = [CylinderChanged(at_s=60.0, cylinder="2", patient="1")]
    assert needle_bar(drill.truth, changed, 60.0) == pytest.approx(drill.truth.second_bar, rel=1e-3)


def test_a_stopped_leak_stops_in_the_needle_too() -> None:
    drill = dr.drill_of(0, KIT)
    leak_s = drill.truth.leak_from_s
    shut: list[Event] = [
        ProblemReported(at_s=leak_s + 10, what="hissing"),
        FlowSet(at_s=leak_s + 20, patient="1", flow_l_min=0.0),
    ]
    at_20 = needle_bar(drill.truth, shut, leak_s + 20)
    if not leak_s < drill.truth.cold_from_s < leak_s + 60:
        assert needle_bar(drill.truth, shut, leak_s + 60) == pytest.approx(at_20)
    assert needle_bar(drill.truth, [], leak_s + 60) < at_20


# --- scores ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(8))
def test_all_done_in_time_scores_in_full(seed: int) -> None:
    sheet = scored(dr.drill_of(seed, KIT), _good(seed).plays().events)
    assert [line.what for line in sheet.lines if not line.good] == []
    assert len(sheet.lines) >= 14
    assert sheet.ended_at_s == dr.ENDS_S


@pytest.mark.parametrize("seed", range(4))
def test_nothing_done_misses_everything(seed: int) -> None:
    sheet = scored(dr.drill_of(seed, KIT), Trainee(drill=dr.drill_of(seed, KIT), hears={}).plays().events)
    assert sheet.good == 0
    assert sheet.missed == len(sheet.lines)
    assert _line(sheet, "bottle changed").remark == "reserve reached first"


def test_slow_is_late_and_not_missed() -> None:
    sheet = scored(dr.drill_of(1, KIT), _good(1, delay_s=80.0).plays().events)
    reported = _line(sheet, "leak reported")
    assert (reported.seconds, reported.good) == (80.0, False)
    assert sheet.missed == 0


def test_an_early_end_scores_only_what_was_told() -> None:
    sheet = scored(dr.drill_of(1, KIT), _good(1).plays(to_s=100).events)
    assert {line.what for line in sheet.lines} == {"size told", "gauge told", "flow told", "device told", "boat told"}


def _takes_wrong(t: Trainee, at_s: float) -> list[Event]:
    return [t.needle(at_s, above_bar=t.drill.wrong_above_bar)]


def test_a_wrong_reading_taken_is_a_miss_until_it_is_put_right() -> None:
    silent = {"own_eyes": lambda t, s: [], "look": lambda t, s: []}
    taken = scored(dr.drill_of(2, KIT), _good(2, wrong_reading=_takes_wrong, **silent).plays().events)
    line = _line(taken, "wrong reading caught")
    assert (line.good, line.remark) == (False, "false reading taken")
    righted = scored(dr.drill_of(2, KIT), _good(2, wrong_reading=_takes_wrong).plays().events)
    assert (_line(righted, "wrong reading caught").good, _line(righted, "wrong reading caught").remark) == (
        True,
        "taken, then put right",
    )


def test_a_withdrawn_reading_is_no_longer_in_force() -> None:
    def withdraws(t: Trainee, at_s: float) -> list[Event]:
        number = max(n for n, e in enumerate(t.events, 1) if isinstance(e, GaugeRead))
        return [Withdrawn(at_s=at_s, numbers=(number,)), t.needle(at_s)]

    sheet = scored(dr.drill_of(2, KIT), _good(2, wrong_reading=_takes_wrong, own_eyes=withdraws).plays().events)
    assert (_line(sheet, "wrong reading caught").good, _line(sheet, "wrong reading caught").remark) == (True, "")


def test_the_cold_taken_for_a_leak_is_remarked() -> None:
    seed = next(s for s in range(50) if _cold_first(s))

    def mistakes(t: Trainee, at_s: float) -> list[Event]:
        return [ProblemReported(at_s=at_s, what="hissing")]

    sheet = scored(dr.drill_of(seed, KIT), _good(seed, cold_cylinder=mistakes).plays().events)
    line = _line(sheet, "cold told")
    assert (line.done_at_s, line.remark) == (None, "the cold was taken for a leak")


def _cold_first(seed: int) -> bool:
    truth = dr.drill_of(seed, KIT).truth
    return truth.cold_from_s < truth.leak_from_s


def test_an_alert_is_scored_by_when_it_was_heard() -> None:
    drill = dr.drill_of(0, KIT)
    raised = AlertRaised(at_s=10.0, alert="reserve_reached", priority="high", say="", cylinder="1")
    again = AlertRaised(at_s=40.0, alert="reserve_reached", priority="high", say="", cylinder="1")
    heard = AlertAcknowledged(at_s=55.0, alert="reserve_reached", cylinder="1")
    low = AlertRaised(at_s=12.0, alert="reading_overdue", priority="low", say="", cylinder="1")
    line = _line(scored(drill, [raised, low, again, heard]), "alert heard: reserve reached")
    assert (line.seconds, line.good) == (45.0, True)
    assert _line(scored(drill, [raised, again]), "alert heard: reserve reached").done_at_s is None
    assert len(scored(drill, [low]).lines) == 0


def test_the_needle_is_said_on_the_marks_of_the_gauge() -> None:
    drill = dr.drill_of(5, KIT)
    said = dr.needle_said(drill, [], 200.0)
    assert float(said) % 50 == 0
    shown = convert(needle_bar(drill.truth, [], 200.0), "bar", "psi")
    assert abs(float(said) - shown) <= 25


def test_the_false_reading_is_above_the_needle() -> None:
    drill = dr.drill_of(5, KIT)
    events: list[Event] = [dr.begun(drill)]
    cues = dr.cues_due(drill, events, dr.ENDS_S)
    wrong = next(c for c in cues if c.cue == "wrong_reading")
    eyes = next(c for c in cues if c.cue == "own_eyes")
    assert float(wrong.say.rstrip(".").split()[-1]) >= float(eyes.say.rstrip(".").split()[-1]) + 450


def test_the_sheet_shows_hits_misses_and_times() -> None:
    out = io.StringIO()
    lines = (
        ScoreLine(what="leak reported", arose_at_s=150.0, done_at_s=171.0, within_s=60.0),
        ScoreLine(
            what="cold told", arose_at_s=300.0, done_at_s=None, within_s=90.0, remark="the cold was taken for a leak"
        ),
        ScoreLine(what="gauge read", arose_at_s=400.0, done_at_s=475.0, within_s=60.0),
        ScoreLine(what="bottle changed", arose_at_s=700.0, done_at_s=680.0, within_s=0.0),
    )
    show_sheet(ScoreSheet(seed=9, lines=lines, ended_at_s=900.0), Console(file=out, width=110))
    text = out.getvalue()
    rows = [" ".join(cell.strip() for cell in row.strip("│ ").split("│")) for row in text.splitlines() if "│" in row]
    assert "0:02:30 leak reported 21 s 60 s + in time" in rows[0]
    assert "0:05:00 cold told - 90 s x missed the cold was taken for a leak" in rows[1]
    assert "0:06:40 gauge read 75 s 60 s ! late" in rows[2]
    assert "0:11:40 bottle changed 20 s early by then + in time" in rows[3]
    assert "2 of 4 in time, 1 late, 1 missed; played 0:15:00. No gas was used." in text


def test_a_cue_is_an_event_of_its_own() -> None:
    assert DrillCued(at_s=0.0, cue="leak", say="You hear a faint hiss at the yoke.").kind == "drill_cued"
