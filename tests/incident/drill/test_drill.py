"""The drill: one seed gives one plot, cues are told once and in time, and the needle follows what is done."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.incident import drill as dr
from assistant.incident.drill_truth import needle_bar
from assistant.incident.events import CylinderChanged, DrillCued, Event, FlowSet, ProblemReported
from assistant.quantity import convert
from tests.incident.drill.trainee import KIT

SEEDS = st.integers(min_value=0, max_value=10_000)


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


def test_a_cue_is_an_event_of_its_own() -> None:
    assert DrillCued(at_s=0.0, cue="leak", say="You hear a faint hiss at the yoke.").kind == "drill_cued"
