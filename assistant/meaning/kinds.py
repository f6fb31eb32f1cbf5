"""The kinds of meaning, one frozen class each; their fields are those of the contract's JSON.

`cylinder` and `patient` are None where the speaker named none: the dialogue fills in the one in use. Nothing here
is in force yet: a meaning is what was said, an event is what was accepted.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from assistant.quantity import Measure

DEVICES = (
    "nasal_cannula",
    "simple_mask",
    "partial_rebreather",
    "non_rebreather",
    "venturi_mask",
    "bag_valve_mask",
)
SIGNS = (
    "oxygen_saturation",
    "heart_rate",
    "respiratory_rate",
    "systolic",
    "diastolic",
    "consciousness",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeReading:
    """The gauge reads `pressure` (gauge pressure; the kit's unit where none was said)."""

    kind: ClassVar[str] = "gauge_reading"
    pressure: Measure
    cylinder: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CylinderSize:
    """The cylinder is of `size`, a size of the kit ("D", "2 L" or a name of the kit's own)."""

    kind: ClassVar[str] = "cylinder_size"
    size: str
    cylinder: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CylinderChange:
    """`cylinder` is now in use; None: the next one not yet used. `patient` is who it supplies."""

    kind: ClassVar[str] = "cylinder_change"
    cylinder: str | None = None
    patient: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowRate:
    """The regulator is set to `flow`, in L/min; 0 turns it off.

    `bare` is for putting a breath in order alone: nothing but the number and its unit was said. It is never told on.
    """

    kind: ClassVar[str] = "flow_rate"
    flow: Measure
    patient: str | None = None
    bare: bool = field(default=False, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryDevice:
    """One of `DEVICES`; `oxygen_percent` is said of a Venturi mask alone."""

    kind: ClassVar[str] = "delivery_device"
    device: str
    oxygen_percent: int | None = None
    patient: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class VitalSign:
    """One of `SIGNS`: percent, /min, /min, mmHg, mmHg, or a letter of AVPU."""

    kind: ClassVar[str] = "vital_sign"
    sign: str
    value: int | str
    patient: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeToHandover:
    """Hand-over is expected in `minutes` from now."""

    kind: ClassVar[str] = "time_to_handover"
    minutes: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TargetSaturation:
    """The saturation aimed at, in percent, as the protocol in force gives it."""

    kind: ClassVar[str] = "target_saturation"
    low: int
    high: int
    patient: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Altitude:
    """Height above sea level, in metres."""

    kind: ClassVar[str] = "altitude"
    metres: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Temperature:
    """Temperature of the cylinder, taken as the air's, in °C."""

    kind: ClassVar[str] = "temperature"
    celsius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Something is asked of the assistant.

    `about`: time_remaining, pressure_now, lasting_flow, next_step, latest_vitals, what_can_i_say, report; and, beyond
    the contract: size_meaning (what a size holds here, in `detail`), steps_left, cylinders_left, repeat_all_after
    (the word in `detail`), radio_report. `flow` is one only supposed ("how long at ten litres"): it sets nothing.
    """

    kind: ClassVar[str] = "question"
    about: str
    detail: str | None = None
    cylinder: str | None = None
    patient: str | None = None
    flow: Measure | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A move in a procedure: done, next, back, repeat, skip, start (with `procedure` and perhaps `at`, a step), stop.

    `reason` is why a step is skipped ("already done"), where it was said.
    """

    kind: ClassVar[str] = "step"
    move: str
    procedure: str | None = None
    at: str | None = None
    reason: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """Trouble with the equipment: hissing, no_flow, regulator_loose, washer_missing, valve_stuck,
    reservoir_collapses; beyond the contract: patient_unresponsive."""

    kind: ClassVar[str] = "problem"
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """Yes or no; `choice` 1 or 2 where "first" or "second" was said of two readings."""

    kind: ClassVar[str] = "answer"
    yes: bool
    choice: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """The last value was wrong; the right meaning follows in the list, if it was said.

    `back` counts the values passed over: 0 the last one, 1 the one before.
    """

    kind: ClassVar[str] = "correction"
    back: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class AlarmHeard:
    """The current alert is acknowledged."""

    kind: ClassVar[str] = "alarm_heard"


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """Free words, kept for the record and never acted on."""

    kind: ClassVar[str] = "note"
    text: str
    patient: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Attend:
    """Beyond the contract: the words that follow are about this patient or cylinder ("patient two")."""

    kind: ClassVar[str] = "attend"
    patient: str | None = None
    cylinder: str | None = None


SAID_AGAIN = "said again"
"""Instead of a unit: the number repeats the one before it, and means nothing by itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BareNumber:
    """Beyond the contract: a number that says nothing of what it measures; only a pending question gives it a sense.

    "One fifty" is 150; a `unit` is given where one was said that fits several kinds.
    """

    kind: ClassVar[str] = "number"
    value: float
    unit: str | None = None


Meaning = (
    GaugeReading
    | CylinderSize
    | CylinderChange
    | FlowRate
    | DeliveryDevice
    | VitalSign
    | TimeToHandover
    | TargetSaturation
    | Altitude
    | Temperature
    | Question
    | Step
    | Problem
    | Answer
    | Correction
    | AlarmHeard
    | Note
    | Attend
    | BareNumber
)
