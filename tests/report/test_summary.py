"""What an incident comes to is what its events say, and nothing else."""

from __future__ import annotations

import pytest

from assistant.incident import events as ev
from assistant.oxygen.kit import default_kit
from assistant.quantity import Measure
from assistant.report.lines import IncidentLines
from assistant.report.summary import Summary, summarised

KIT = default_kit()
BAR_OF_1000_PSI = 68.9475729316836


def of(*events: ev.Event, until_s: float | None = None) -> Summary:
    return summarised(list(enumerate(events, start=1)), KIT, until_s=until_s)


def gauge(at_s: float, psi: float, cylinder: str = "1") -> ev.GaugeRead:
    return ev.GaugeRead(at_s=at_s, cylinder=cylinder, value=psi, unit="psi", pressure_bar=psi * BAR_OF_1000_PSI / 1000)


def flow(at_s: float, flow_l_min: float, patient: str = "1") -> ev.FlowSet:
    return ev.FlowSet(at_s=at_s, patient=patient, flow_l_min=flow_l_min)


def test_litres_are_flow_times_time() -> None:
    summary = of(flow(0, 15), flow(600, 4), flow(1200, 0), until_s=6000)
    assert summary.litres == pytest.approx(15 * 10 + 4 * 10)
    assert [(s.begin_s, s.end_s, s.flow_l_min) for s in summary.patients[0].spans] == [
        (0, 600, 15),
        (600, 1200, 4),
        (1200, 6000, 0),
    ]


def test_litres_by_the_gauge_are_the_handbooks() -> None:
    """The printed factor of a D cylinder is 0.16 L/psi: 1,000 psi are 160 litres."""
    summary = of(ev.CylinderSized(at_s=0, cylinder="1", size="D"), gauge(0, 2000), gauge(1800, 1000))
    assert summary.cylinders[0].gone_l == pytest.approx(160.0)


def test_litres_go_to_the_cylinder_that_was_in_use() -> None:
    summary = of(flow(0, 10), ev.CylinderChanged(at_s=300, cylinder="2", patient="1"), until_s=1200)
    assert {c.name: c.used_l for c in summary.cylinders} == pytest.approx({"1": 50.0, "2": 150.0})


def test_two_patients_are_kept_apart() -> None:
    summary = of(
        flow(0, 10),
        ev.CylinderChanged(at_s=0, cylinder="2", patient="2"),
        flow(60, 2, "2"),
        ev.VitalNoted(at_s=90, patient="2", sign="oxygen_saturation", value=91),
        until_s=660,
    )
    first, second = summary.patients
    assert (first.litres, second.litres) == pytest.approx((110.0, 20.0))
    assert first.vitals == ()
    assert second.of("oxygen_saturation")[0].value == 91


def test_a_value_taken_back_counts_nowhere_but_among_the_corrections() -> None:
    wrong = flow(0, 15)
    summary = of(wrong, ev.Withdrawn(at_s=20, numbers=(1,)), flow(20, 5), until_s=620)
    assert summary.litres == pytest.approx(50.0)
    assert summary.withdrawn == ((wrong, 20),)


def test_what_was_not_recorded_is_none() -> None:
    summary = of(ev.NoteMade(at_s=0, text="arrived"), until_s=60)
    assert summary.cylinders == ()
    assert (summary.patients[0].now, summary.patients[0].target, summary.handover_s) == (None, None, None)
    unread = of(flow(0, 4), until_s=60).cylinders[0]
    assert (unread.size, unread.pressure, unread.left_l, unread.minutes, unread.gone_l) == (None,) * 5


def test_an_empty_record_has_a_summary() -> None:
    assert of().until_s == 0


def raised(at_s: float, alert: str = "reserve_near") -> ev.AlertRaised:
    return ev.AlertRaised(at_s=at_s, alert=alert, priority="medium", say="", cylinder="1")


def test_an_alert_repeated_is_one_and_what_was_done_stands_beside_it() -> None:
    change = ev.CylinderChanged(at_s=150, cylinder="2", patient="1")
    summary = of(
        flow(0, 10),
        raised(60),
        raised(90),
        ev.AlertAcknowledged(at_s=100, alert="reserve_near", cylinder="1"),
        gauge(120, 500),
        change,
        raised(900),
    )
    first, again = summary.alerts
    assert (first.times, first.first_s, first.acknowledged_s, first.followed_by) == (2, 60, 100, change)
    assert (again.times, again.acknowledged_s, again.followed_by) == (1, None, None)


def test_what_came_long_after_an_alert_is_not_told_as_its_answer() -> None:
    assert of(raised(60), flow(60 + 601, 4)).alerts[0].followed_by is None


def test_the_marsh_incident_in_figures(incident: IncidentLines, summary: Summary) -> None:
    """Every figure against the events themselves, counted here in another way."""
    events = [event for _, event in incident.events]
    gone = {number for event in events if isinstance(event, ev.Withdrawn) for number in event.numbers}
    standing = [event for number, event in incident.events if number not in gone]
    flows = [(event.at_s, event.flow_l_min) for event in standing if isinstance(event, ev.FlowSet)]
    ends = [at_s for at_s, _ in flows[1:]] + [summary.until_s]
    by_hand = sum(rate * (end - at_s) / 60 for (at_s, rate), end in zip(flows, ends, strict=True))
    assert summary.litres == pytest.approx(by_hand)
    assert sum(c.used_l for c in summary.cylinders) == pytest.approx(by_hand)
    readings = {c.name: [r.measure for r in c.readings] for c in summary.cylinders}
    for name, measures in readings.items():
        assert measures == [
            Measure(value=e.value, unit=e.unit) for e in standing if isinstance(e, ev.GaugeRead) and e.cylinder == name
        ]
    noted = sorted((e.at_s, e.sign, str(e.value)) for e in standing if isinstance(e, ev.VitalNoted))
    assert sorted((p.at_s, p.sign, str(p.value)) for p in summary.patients[0].vitals) == noted
    assert len(gone) == len(summary.withdrawn) == 1
