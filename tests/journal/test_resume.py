"""What is in force after a restart is what was in force before it: the state is folded from the record alone."""

from __future__ import annotations

from pathlib import Path

from assistant.incident import events as ev
from assistant.incident.log import Incident
from assistant.incident.state import State
from assistant.journal import Journal
from assistant.oxygen.kit import default_kit

KIT = default_kit()
IN_THE_MIDST = (
    ev.CylinderSized(at_s=0.0, cylinder="1", size="D"),
    ev.GaugeRead(at_s=1.0, cylinder="1", value=1500.0, unit="psi", pressure_bar=103.42),
    ev.DeviceFitted(at_s=2.0, patient="1", device="non_rebreather"),
    ev.FlowSet(at_s=3.0, patient="1", flow_l_min=15.0),
    ev.GaugeRead(at_s=200.0, cylinder="1", value=1800.0, unit="psi", pressure_bar=124.1),
    ev.Withdrawn(at_s=205.0, numbers=(5,)),
    ev.VitalNoted(at_s=210.0, patient="1", sign="oxygen_saturation", value=91),
    ev.HandoverExpected(at_s=220.0, handover_at_s=4420.0),
    ev.AlertRaised(at_s=221.0, alert="handover_not_covered", priority="medium", say="…", cylinder="1", patient="1"),
    ev.ProcedureMoved(at_s=300.0, procedure="change", move="start", step="next_ready"),
    ev.ProcedureMoved(at_s=330.0, procedure="change", move="done", step="close_valve"),
    ev.QuestionAsked(
        at_s=400.0,
        about="gauge_reading",
        tries=2,
        subject="1",
        choices=({"kind": "gauge_reading", "cylinder": "1", "pressure": {"value": 1100, "unit": "psi"}},),
    ),
)


def state_of(journal: Journal) -> State:
    return Incident(KIT, [event for _, event in journal.events()]).state


def test_everything_in_hand_comes_back_from_the_file(folder: Path) -> None:
    """Killed, not closed: the file is opened as it stood on the disk after the last append."""
    incident, journal = Incident(KIT), Journal.create(folder)
    for event in IN_THE_MIDST:
        incident.append([event])
        journal.append([event])
    journal._lock.release()  # a killed process lets go of its lock and of nothing else
    again = Journal.open(journal.path)
    state = state_of(again)
    again.close()
    assert state == incident.state
    assert state.question is not None
    assert (state.question.about, state.question.tries) == ("gauge_reading", 2)
    assert state.procedure is not None
    assert (state.procedure.step, state.procedure.trail) == ("close_valve", ("next_ready",))
    assert [alert.acknowledged_at_s for alert in state.alerts.values()] == [None]
    assert state.handover_at_s == 4420.0
    supply = state.supply_of("1")
    assert supply is not None
    assert supply.estimate is not None
    assert incident.state.cylinders["1"].estimate is not None
    assert supply.estimate.pressure_bar(900.0) == incident.state.cylinders["1"].estimate.pressure_bar(900.0)
