"""What an incident comes to: takes its numbered events and the kit, gives one frozen Summary for every form to tell.

Nothing is made up: what was not recorded is None or empty here. Times are seconds of the incident's clock.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from assistant.incident import events as ev
from assistant.oxygen.kit import Kit
from assistant.oxygen.supply import Interval
from assistant.quantity import Measure


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """Something unchanged for a while: how a patient was supplied. None is what was not recorded."""

    begin_s: float
    end_s: float
    device: str | None
    oxygen_percent: int | None
    flow_l_min: float | None
    cylinder: str | None

    @property
    def litres(self) -> float:
        """What flowed, by the setting and the time; L."""
        return (self.flow_l_min or 0.0) * (self.end_s - self.begin_s) / 60


@dataclass(frozen=True, slots=True, kw_only=True)
class VitalPoint:
    """A vital sign as it was noted."""

    at_s: float
    sign: str
    value: int | str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A gauge reading as it was said, and in bar."""

    at_s: float
    measure: Measure
    pressure_bar: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePoint:
    """Where the needle was reckoned to be: mean and standard deviation, bar."""

    at_s: float
    pressure_bar: float
    sd_bar: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PatientSummary:
    """One patient by number."""

    name: str
    spans: tuple[Span, ...] = ()
    vitals: tuple[VitalPoint, ...] = ()
    target: tuple[int, int] | None = None

    @property
    def litres(self) -> float:
        """All that flowed to this patient, by settings and time; L."""
        return sum(span.litres for span in self.spans)

    @property
    def now(self) -> Span | None:
        """How the patient is supplied at the end, if ever."""
        return self.spans[-1] if self.spans else None

    def of(self, sign: str) -> tuple[VitalPoint, ...]:
        """The points of one sign, in order of time."""
        return tuple(point for point in self.vitals if point.sign == sign)

    def latest(self, sign: str) -> VitalPoint | None:
        """The last point of one sign."""
        points = self.of(sign)
        return points[-1] if points else None


@dataclass(frozen=True, slots=True, kw_only=True)
class CylinderSummary:
    """One cylinder. `used_l` is by settings and time, `gone_l` by the gauge between its first and last reading.

    `pressure` is the last reading or the estimate at the end, `left_l` the litres it stands for above the reserve, and
    `minutes` to reserve is None where a flow, a size or a reading is missing.
    """

    name: str
    size: str | None
    readings: tuple[Reading, ...]
    curve: tuple[CurvePoint, ...]
    patient: str | None
    used_l: float
    gone_l: float | None
    pressure: Measure | None
    left_l: float | None
    minutes: Interval | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AlertSummary:
    """An alert, how often it was said, when it was acknowledged, and the next thing on record after it."""

    alert: str
    priority: str
    cylinder: str | None
    patient: str | None
    first_s: float
    times: int
    acknowledged_s: float | None
    followed_by: ev.Event | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """The whole incident up to `until_s`. `withdrawn` holds what was corrected: an event and when it was taken back."""

    kit: Kit
    began: datetime | None
    until_s: float
    patients: tuple[PatientSummary, ...]
    cylinders: tuple[CylinderSummary, ...]
    alerts: tuple[AlertSummary, ...]
    notes: tuple[ev.NoteMade, ...]
    problems: tuple[ev.ProblemReported, ...]
    procedures: tuple[ev.ProcedureMoved, ...]
    withdrawn: tuple[tuple[ev.Event, float], ...]
    events: tuple[ev.Event, ...] = field(repr=False)
    handover_s: float | None = None
    altitude_m: float | None = None
    celsius: float | None = None

    @property
    def drill(self) -> bool:
        """Whether this was an exercise: every form of the report has to say so first."""
        return any(isinstance(event, ev.DrillCued) for event in self.events)

    @property
    def litres(self) -> float:
        """All oxygen that flowed to patients, by settings and time; L."""
        return sum(patient.litres for patient in self.patients)

    def clock(self, at_s: float) -> str:
        """The time of day of a moment, "10:42"; minutes from the start, "+12 min", where the day is not known."""
        if self.began is None:
            return f"+{int(at_s // 60)} min"
        return f"{self.began + timedelta(seconds=at_s):%H:%M}"


def summarised(
    events: Iterable[tuple[int, ev.Event]],
    kit: Kit,
    *,
    began: datetime | None = None,
    until_s: float | None = None,
) -> Summary:
    """The summary of numbered events; withdrawn ones count only as corrections.

    `began` is the wall time of the incident's start in the zone to be shown; `until_s` the moment it is made for, the
    last event where none is given.
    """
    from assistant.report.telling import told

    return told(tuple(events), kit, began, until_s)
