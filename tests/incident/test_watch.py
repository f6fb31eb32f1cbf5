"""The watch: what falls due and when, to the second; what repeats, what is silenced, and what comes first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from math import inf

import pytest

from assistant.dialogue.alerts_said import alerts_raised
from assistant.incident import events as ev
from assistant.incident.conditions import conditions
from assistant.incident.log import Incident
from assistant.incident.watch import KINDS, PRIORITIES, REPEAT_S, due_alerts, next_due_s
from assistant.oxygen.cylinders import PSI_BAR
from tests.incident.short_events import KIT, flow, heard, incident, not_covered, read, saturation, sized, usual


def alerts(under_way: Incident, until_s: float) -> Iterator[ev.AlertRaised]:
    """Every alert at its own time, as on a simulated clock."""
    at_s = 0.0
    while (due_s := next_due_s(under_way.state, KIT, at_s)) <= until_s:
        at_s = max(due_s, at_s)
        raised = alerts_raised(under_way.state, at_s)
        assert raised, f"something was due at {at_s}, but nothing came"
        under_way.append(raised)
        yield from raised


def first(under_way: Incident, kind: str, until_s: float = 7200.0) -> ev.AlertRaised:
    return next(alert for alert in alerts(under_way, until_s) if alert.alert == kind)


def test_the_supply_runs_down_in_order() -> None:
    kinds = [alert.alert for alert in alerts(usual(), 1800)]
    firsts = list(dict.fromkeys(kinds))
    assert firsts == ["reading_overdue", "reserve_near", "reserve_reached", "empty"]


def test_the_reserve_is_reached_to_the_second() -> None:
    # (1500 - 200) × 0.16 ÷ 15 is 832.0 s; the chance of a leak moves the middle a second earlier
    reached = first(usual(), "reserve_reached")
    assert reached.at_s == pytest.approx(832.0, abs=3.0)
    assert reached.fell_due_s == reached.at_s
    assert reached.priority == "high"
    assert reached.say == "Bottle one is at reserve. Change now."


def test_near_reserve_leaves_the_kit_s_time_to_act() -> None:
    near = first(usual(), "reserve_near")
    assert 60 * KIT.reserve_near_min <= 832.0 - near.at_s <= 60 * KIT.reserve_near_min * 1.6
    assert near.say.endswith("to reserve. Prepare the next.")


def test_a_longer_time_to_act_comes_earlier() -> None:
    kit = replace(KIT, reserve_near_min=8.0)
    patient = Incident(kit, [sized(0), read(0, 1500), flow(0, 15)])
    assert first(patient, "reserve_near").at_s < first(usual(), "reserve_near").at_s - 120


def test_a_reading_at_the_reserve_counts_at_once() -> None:
    below = incident(sized(0), read(0, 1500), flow(0, 15), read(800, 200))
    (reached,) = [a for a in alerts_raised(below.state, 800.0) if a.cylinder]
    assert reached.alert == "reserve_reached"


def test_a_reading_above_expectation_takes_the_alert_back() -> None:
    patient = usual()
    near = first(patient, "reserve_near")
    patient.append([read(near.at_s + 10, 1900)])
    later = due_alerts(patient.state, KIT, near.at_s + 400)
    assert {alert.alert for alert in later} <= {"reading_overdue"}


@pytest.mark.parametrize(("kind", "until_s"), [("reserve_reached", 890.0), ("reading_overdue", 380.0)])
def test_an_alert_repeats_until_acknowledged(kind: str, until_s: float) -> None:
    patient = usual()
    times = [a.at_s for a in alerts(patient, until_s) if a.alert == kind]
    priority = patient.state.alerts[(kind, "1", None)].priority
    gaps = [after - before for before, after in pairwise(times)]
    assert gaps
    assert all(gap == pytest.approx(REPEAT_S[priority]) for gap in gaps)
    last = next(a for a in reversed(patient.events) if isinstance(a, ev.AlertRaised) and a.alert == kind)
    patient.append([heard(last, last.at_s + 5)])
    assert kind not in {a.alert for a in due_alerts(patient.state, KIT, last.at_s + 45)}


def test_a_stall_brings_everything_at_once_the_worst_first() -> None:
    stalled = incident(
        sized(0), read(0, 1500), flow(0, 15), saturation(0, 88), ev.HandoverExpected(at_s=0, handover_at_s=4200)
    )
    raised = alerts_raised(stalled.state, 850.0)
    assert [a.alert for a in raised] == ["reserve_reached", "saturation_low", "handover_not_covered"]
    ranks = [PRIORITIES.index(a.priority) for a in raised]
    assert ranks == sorted(ranks)
    assert raised[0].fell_due_s == pytest.approx(832.0, abs=3.0)
    stalled.append(raised)
    assert next_due_s(stalled.state, KIT) == pytest.approx(880.0)


def test_a_stall_past_the_reserve_says_the_worst_of_one_cylinder_once() -> None:
    raised = [a for a in alerts_raised(usual().state, 3600.0) if a.cylinder]
    assert [a.alert for a in raised] == ["empty"]


def test_a_reading_is_asked_for_more_often_as_the_supply_gets_low() -> None:
    full, low = usual(1900, 2), usual(400, 2)
    assert first(full, "reading_overdue").at_s == 60 * KIT.reading_overdue_min
    assert first(low, "reading_overdue").at_s < 300
    assert low.state.alerts[("reading_overdue", "1", None)].priority == "medium"
    assert full.state.alerts[("reading_overdue", "1", None)].priority == "low"


def test_a_request_left_unanswered_gets_urgent() -> None:
    patient = usual(1900, 2)
    asked = [a.priority for a in alerts(patient, 2400) if a.alert == "reading_overdue"]
    assert asked[0] == "low"
    assert "medium" in asked


def test_acknowledged_without_a_reading_it_is_asked_again_later() -> None:
    patient = usual(1900, 2)
    asked = first(patient, "reading_overdue")
    patient.append([heard(asked, asked.at_s + 5)])
    assert first(patient, "reading_overdue").at_s == pytest.approx(asked.at_s + 5 + 20 * KIT.reading_overdue_min)


def test_with_the_flow_off_the_supply_rests() -> None:
    patient = usual(1900, 2)
    patient.append([flow(60, 0)])
    assert next_due_s(patient.state, KIT) == inf
    patient.append([flow(7200, 2)])
    assert [a.alert for a in due_alerts(patient.state, KIT, 7200.0)] == ["reading_overdue"]


def test_flow_without_a_gauge_is_asked_for_after_a_minute() -> None:
    asked = first(incident(sized(0), flow(30, 10)), "reading_overdue")
    assert asked.at_s == 90.0
    assert asked.say == "Bottle one, what does the gauge read?"


def test_a_leak_is_said_with_its_amount_and_what_to_check() -> None:
    patient = usual(1900, 2)
    for minute in range(5, 31, 5):
        patient.append([read(60 * minute, 1900 - 25 * minute)])
    (leak,) = [a for a in alerts_raised(patient.state, 1800.0) if a.alert == "leak_suspected"]
    assert leak.say in (
        "Bottle one may leak, about two litres a minute. Check yoke, washer, tubing.",
        "Bottle one may leak, about two point five litres a minute. Check yoke, washer, tubing.",
    )
    patient.append([leak, heard(leak, 1805.0), read(1900, 1110)])
    assert "leak_suspected" not in {a.alert for a in due_alerts(patient.state, KIT, 2000.0)}


def test_saturation_below_target() -> None:
    assert not due_alerts(incident(saturation(0, 94)).state, KIT, 0.0)
    (low,) = alerts_raised(incident(saturation(0, 93)).state, 0.0)
    assert (low.alert, low.priority, low.patient) == ("saturation_low", "medium", "1")
    assert low.say == "Saturation nine three, below target. Follow your protocol."
    (very_low,) = due_alerts(incident(saturation(0, 84)).state, KIT, 0.0)
    assert very_low.priority == "high"
    target = ev.TargetSet(at_s=0, patient="1", low=88, high=92)
    assert not due_alerts(incident(target, saturation(0, 90)).state, KIT, 0.0)


def test_a_flow_outside_the_device_s_range() -> None:
    cannula = ev.DeviceFitted(at_s=0, patient="1", device="nasal_cannula")
    (out,) = alerts_raised(incident(cannula, flow(0, 10)).state, 0.0)
    assert out.alert == "flow_out_of_range"
    assert "nasal cannula" in out.say.lower()
    assert not due_alerts(incident(cannula, flow(0, 4)).state, KIT, 0.0)


def test_two_patients_are_watched_each_with_its_cylinder() -> None:
    both = incident(
        sized(0),
        read(0, 1500),
        flow(0, 15),
        ev.CylinderChanged(at_s=0, cylinder="2", patient="2"),
        sized(0, "D", "2"),
        read(0, 700, "2"),
        flow(0, 15, "2"),
    )
    reached = [a for a in alerts(both, 900) if a.alert == "reserve_reached" and a.at_s == a.fell_due_s]
    assert [a.cylinder for a in reached] == ["2", "1"]


def test_a_cylinder_set_aside_is_watched_no_more_and_keeps_its_rest() -> None:
    changed = usual()
    changed.append(
        [ev.CylinderChanged(at_s=300, cylinder="2", patient="1"), sized(300, "D", "2"), read(300, 1900, "2")]
    )
    assert all(c.cylinder != "1" for c in conditions(changed.state))
    aside = changed.state.cylinders["1"].estimate
    assert aside is not None
    assert aside.pressure_bar(6000.0)[0] / PSI_BAR == pytest.approx(1500 - 75 / 0.16, rel=0.03)


def test_a_clock_or_a_stall_moves_no_alert() -> None:
    patient = usual()
    due = {(c.alert, c.due_s) for c in conditions(patient.state)}
    due_alerts(patient.state, KIT, 500.0)
    patient.append([ev.NoteMade(at_s=500.0, text="wind is up")])
    assert {(c.alert, c.due_s) for c in conditions(patient.state)} == due


def test_nothing_is_due_of_nothing() -> None:
    empty = incident().state
    assert due_alerts(empty, KIT, 1e6) == ()
    assert next_due_s(empty, KIT) == inf


def test_every_alert_is_short_and_of_the_contract() -> None:
    busy = not_covered(saturation(0, 80), ev.DeviceFitted(at_s=0, patient="1", device="nasal_cannula"))
    for alert in alerts(busy, 1500):
        sentences = [s for s in alert.say.split(". ") if s]
        assert len(alert.say.split()) <= 12 or len(sentences) <= 2
        assert len(alert.say.split()) <= 16
        assert alert.alert in KINDS


def test_a_long_incident_answers_the_same_as_a_short_one() -> None:
    """The watch sees the state alone: ten thousand notes and vital signs leave every due time where it was."""
    short = usual(1900, 2)
    long = usual(1900, 2)
    long.append([saturation(i / 100, 96) for i in range(10_000)])
    assert conditions(long.state) == conditions(short.state)
