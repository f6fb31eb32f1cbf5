"""Whether the oxygen lasts to hand-over, what is offered where it does not, and when that is said again."""

from __future__ import annotations

from dataclasses import replace

from assistant.dialogue.alerts_said import alerts_raised
from assistant.incident import events as ev
from assistant.incident.coverage import lasting_settings, options, uncovered
from assistant.incident.watch import due_alerts
from assistant.oxygen.cylinders import PSI_BAR
from tests.incident.short_events import KIT, flow, heard, incident, not_covered, read, saturation, sized


def test_hand_over_not_covered_is_said_at_once_with_options() -> None:
    (alert,) = alerts_raised(not_covered().state, 0.0)
    assert alert.alert == "handover_not_covered"
    assert alert.say == "Hand-over not covered. Two litres would last, or earlier pick-up."


def test_spare_cylinders_count_towards_hand_over() -> None:
    three = [e for name in ("2", "3", "4") for e in (sized(0, "E", name), read(0, 1900, name))]
    assert not alerts_raised(not_covered(*three).state, 0.0)
    (short,) = alerts_raised(not_covered(sized(0, "D", "2"), read(0, 1900, "2")).state, 0.0)
    assert "bottle two" in short.say


def test_less_oxygen_is_no_option_while_the_saturation_is_low() -> None:
    low = not_covered(saturation(0, 88)).state
    found = options(low, low.patients["1"], 0.0)
    assert found is not None
    assert found.flow_l_min is None


def test_a_changed_bottle_with_little_left_is_no_way_out() -> None:
    next_in_use = (
        ev.CylinderChanged(at_s=780, cylinder="2", patient="1"), sized(780, "D", "2"), read(780, 1900, "2"),
    )  # fmt: skip
    rest = not_covered(*next_in_use).state
    held, _ = rest.cylinders["1"].estimate.pressure_bar(780.0)  # type: ignore[union-attr]
    assert 200 < held / PSI_BAR < 350, "a little above the reserve"
    found = options(rest, rest.patients["1"], 780.0)
    assert found is not None
    assert found.next_cylinder is None
    early = not_covered(*(replace(event, at_s=120) for event in next_in_use)).state
    found = options(early, early.patients["1"], 120.0)
    assert found is not None
    assert found.next_cylinder == "1"


def test_hand_over_put_later_is_raised_anew_after_an_acknowledgement() -> None:
    patient = not_covered()
    (alert,) = alerts_raised(patient.state, 0.0)
    patient.append([alert, heard(alert, 5)])

    def due(told_at_s: float, handover_at_s: float, at_s: float) -> set[str]:
        patient.append([ev.HandoverExpected(at_s=told_at_s, handover_at_s=handover_at_s)])
        return {a.alert for a in due_alerts(patient.state, KIT, at_s)} & {"handover_not_covered"}

    assert not due(200, 4200, 200)
    assert not due(210, 3900, 210)
    assert not due(220, 4100, 220), "no news: the same time told in round minutes"
    assert due(230, 4150, 230), "small delays add up to one"
    (again,) = [a for a in alerts_raised(patient.state, 230.0) if a.alert == "handover_not_covered"]
    patient.append([again, heard(again, 235)])
    assert due(400, 7200, 400)


def test_settings_that_last_are_those_the_device_takes() -> None:
    state = incident(sized(0, "E"), read(0, 1900), ev.HandoverExpected(at_s=0, handover_at_s=1800)).state
    cylinder, patient = state.cylinders["1"], state.patients["1"]
    assert lasting_settings(state, None, cylinder, 0.0) == (0.5, 1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12)
    mask = replace(patient, device="simple_mask")
    assert lasting_settings(state, mask, cylinder, 0.0) == (6, 8, 10, 12)
    assert lasting_settings(state, replace(patient, device="nasal_cannula"), cylinder, 0.0)[-1] == 6
    assert lasting_settings(replace(state, handover_at_s=None), mask, cylinder, 0.0) == ()


def test_covered_hand_over_says_nothing() -> None:
    soon = incident(sized(0), read(0, 1500), flow(0, 15), ev.HandoverExpected(at_s=0, handover_at_s=500))
    assert uncovered(soon.state, soon.state.patients["1"]) is None
