"""Events to put on record: one of every kind, and a folder to keep journals in."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import get_args

import pytest

from assistant.incident import events as ev

EACH = (
    ev.UtteranceHeard(
        at_s=1.0,
        heard="gauge reads fifteen hundred",
        hypotheses=(("gauge reads fifteen hundred", -0.4), ("gauge reads sixteen hundred", -2.25)),
        outcome="taken",
        meanings=({"kind": "gauge_reading", "cylinder": "1", "pressure": {"value": 1500, "unit": "psi"}},),
        reply="Fifteen hundred P S I.",
    ),
    ev.GaugeRead(at_s=1.0, cylinder="1", value=1500.0, unit="psi", pressure_bar=103.42135939752539),
    ev.CylinderSized(at_s=2.0, cylinder="1", size="D"),
    ev.CylinderChanged(at_s=3.5, cylinder="2", patient="1"),
    ev.FlowSet(at_s=4.0, patient="1", flow_l_min=15.0),
    ev.DeviceFitted(at_s=5.0, patient="1", device="venturi_mask", oxygen_percent=28),
    ev.VitalNoted(at_s=6.0, patient="1", sign="oxygen_saturation", value=91),
    ev.VitalNoted(at_s=6.0, patient="1", sign="consciousness", value="V"),
    ev.HandoverExpected(at_s=7.0, handover_at_s=4207.0),
    ev.TargetSet(at_s=8.0, patient="1", low=94, high=98),
    ev.AltitudeNoted(at_s=9.0, metres=12.0),
    ev.TemperatureNoted(at_s=10.0, celsius=-4.5),
    ev.NoteMade(at_s=11.0, text="coughing soot, “hoarse” voice — wheeze\nboth sides", patient="1"),
    ev.Attended(at_s=12.0, patient="1"),
    ev.ProblemReported(at_s=13.0, what="hissing"),
    ev.ProcedureMoved(at_s=14.0, procedure="change", move="skipped", step="crack_valve", reason="done already"),
    ev.QuestionAsked(at_s=15.0, about="gauge_reading", choices=({"kind": "answer", "yes": True},), tries=2),
    ev.QuestionClosed(at_s=16.0, answered=True),
    ev.AlertRaised(at_s=17.0, alert="reserve_near", priority="medium", say="Ten minutes.", cylinder="1"),
    ev.AlertAcknowledged(at_s=18.0, alert="reserve_near", cylinder="1"),
    ev.Withdrawn(at_s=19.0, numbers=(2, 5)),
    ev.DrillCued(at_s=20.0, cue="begun", say="", seed=7),
)


@pytest.fixture
def one_of_each() -> tuple[ev.Event, ...]:
    """At least one event of every kind there is."""
    assert {type(event) for event in EACH} == set(get_args(ev.Event)), "a kind of event has no example here"
    return EACH


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Where incidents are kept; not there yet, as at a first start."""
    return tmp_path / "incidents"


class TurnedClock:
    """A wall clock that moves when it is told to."""

    def __init__(self) -> None:
        self.moment = datetime(2031, 5, 4, 9, 30, tzinfo=timezone.utc)

    def __call__(self) -> datetime:
        return self.moment

    def turn(self, seconds: float) -> None:
        self.moment += timedelta(seconds=seconds)


@pytest.fixture
def wall_clock() -> TurnedClock:
    """A wall clock to turn by hand."""
    return TurnedClock()
