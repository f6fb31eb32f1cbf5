"""The dated facts of an incident. An event is what was accepted, with canonical units in its field names.

`at_s` is seconds since the incident began, on the monotonic clock. `number` is the event's place in the incident,
from 1, given by the log when it is appended. Nothing is ever changed: a correction or an undo is an event too
(`Withdrawn`), and the fold leaves out what was withdrawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar


@dataclass(frozen=True, slots=True, kw_only=True)
class UtteranceHeard:
    """An utterance came in: what was heard, the rival hypotheses, the outcome, the meanings and the reply.

    `meanings` and `asked` are the contract's JSON values. Kept for the record and for resuming a pending question.
    """

    kind: ClassVar[str] = "utterance_heard"
    at_s: float
    heard: str
    hypotheses: tuple[tuple[str, float], ...] = ()
    outcome: str = "ignored"
    meanings: tuple[dict[str, Any], ...] = ()
    reply: str = ""
    asked: dict[str, Any] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeRead:
    """The gauge of `cylinder` was read. `value` and `unit` as spoken; `pressure_bar` is gauge pressure."""

    kind: ClassVar[str] = "gauge_read"
    at_s: float
    cylinder: str
    value: float
    unit: str
    pressure_bar: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CylinderSized:
    """The size of `cylinder` is known: a size of the kit."""

    kind: ClassVar[str] = "cylinder_sized"
    at_s: float
    cylinder: str
    size: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CylinderChanged:
    """`cylinder` now supplies `patient`; what supplied the patient before is set aside with its rest."""

    kind: ClassVar[str] = "cylinder_changed"
    at_s: float
    cylinder: str
    patient: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowSet:
    """The regulator that supplies `patient` was set; 0 is off."""

    kind: ClassVar[str] = "flow_set"
    at_s: float
    patient: str
    flow_l_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceFitted:
    """`patient` now breathes through `device`."""

    kind: ClassVar[str] = "device_fitted"
    at_s: float
    patient: str
    device: str
    oxygen_percent: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class VitalNoted:
    """A vital sign of `patient`: percent, /min, mmHg or a letter of AVPU."""

    kind: ClassVar[str] = "vital_noted"
    at_s: float
    patient: str
    sign: str
    value: int | str


@dataclass(frozen=True, slots=True, kw_only=True)
class HandoverExpected:
    """Hand-over is expected at `handover_at_s`, on the incident's clock."""

    kind: ClassVar[str] = "handover_expected"
    at_s: float
    handover_at_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TargetSet:
    """The saturation aimed at, in percent."""

    kind: ClassVar[str] = "target_set"
    at_s: float
    patient: str
    low: int
    high: int


@dataclass(frozen=True, slots=True, kw_only=True)
class AltitudeNoted:
    """Height above sea level."""

    kind: ClassVar[str] = "altitude_noted"
    at_s: float
    metres: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TemperatureNoted:
    """Temperature of the cylinders, taken as the air's."""

    kind: ClassVar[str] = "temperature_noted"
    at_s: float
    celsius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteMade:
    """Free words for the record."""

    kind: ClassVar[str] = "note_made"
    at_s: float
    text: str
    patient: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Attended:
    """What is said from now on, without a name, is about this patient or this cylinder."""

    kind: ClassVar[str] = "attended"
    at_s: float
    patient: str | None = None
    cylinder: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ProblemReported:
    """Trouble with the equipment; `what` is a value of the contract's `problem`."""

    kind: ClassVar[str] = "problem_reported"
    at_s: float
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ProcedureMoved:
    """The place in a procedure changed: started, done, skipped (with a `reason`), back, stopped, finished, returned.

    `step` is the step now in hand, None when the procedure is over. `procedure` is the file's name.
    """

    kind: ClassVar[str] = "procedure_moved"
    at_s: float
    procedure: str
    move: str
    step: str | None = None
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionAsked:
    """The assistant asked for something: `about` is a kind of meaning, `choices` the contract's JSON meanings.

    Asked again it is a new event with `tries` one higher. `subject` names a cylinder or patient where one is meant.
    `believed`: how probable what was heard before the question is (JSON meanings), so that the answer adds to it.
    `together`: `rest` is offered with the choice, so that a no denies all of it; without choices, all is to be said
    again.
    """

    kind: ClassVar[str] = "question_asked"
    at_s: float
    about: str
    choices: tuple[dict[str, Any], ...] = ()
    rest: tuple[dict[str, Any], ...] = ()
    tries: int = 1
    subject: str | None = None
    believed: tuple[tuple[dict[str, Any], float], ...] = ()
    together: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionClosed:
    """The pending question was answered, or left after two tries."""

    kind: ClassVar[str] = "question_closed"
    at_s: float
    answered: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class AlertRaised:
    """An alert fell due: `alert` is the contract's `kind`; `fell_due_s` when it should have come."""

    kind: ClassVar[str] = "alert_raised"
    at_s: float
    alert: str
    priority: str
    say: str
    cylinder: str | None = None
    patient: str | None = None
    fell_due_s: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class AlertAcknowledged:
    """The alert in hand was acknowledged by voice, key or button."""

    kind: ClassVar[str] = "alert_acknowledged"
    at_s: float
    alert: str
    cylinder: str | None = None
    patient: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Withdrawn:
    """Earlier events, by number, were wrong: undone, or corrected by what follows this event."""

    kind: ClassVar[str] = "withdrawn"
    at_s: float
    numbers: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillCued:
    """Something happened in a drill: the cue's name and its words. The first one, "begun", gives the drill's seed.

    A record that holds one of these is no record of a real incident.
    """

    kind: ClassVar[str] = "drill_cued"
    at_s: float
    cue: str
    say: str = ""
    seed: int | None = None


Event = (
    UtteranceHeard
    | GaugeRead
    | CylinderSized
    | CylinderChanged
    | FlowSet
    | DeviceFitted
    | VitalNoted
    | HandoverExpected
    | TargetSet
    | AltitudeNoted
    | TemperatureNoted
    | NoteMade
    | Attended
    | ProblemReported
    | ProcedureMoved
    | QuestionAsked
    | QuestionClosed
    | AlertRaised
    | AlertAcknowledged
    | Withdrawn
    | DrillCued
)
