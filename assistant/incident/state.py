"""The state of an incident: what is known of its cylinders, patients, questions, procedure and alerts.

Frozen values; `fold.py` makes them from events and nothing else does. Values are canonical: bar (gauge), litres,
L/min, °C, metres, seconds of the incident's clock.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from assistant.oxygen.estimate import Estimate

if TYPE_CHECKING:
    from assistant.oxygen.kit import Kit


@dataclass(frozen=True, slots=True, kw_only=True)
class Cylinder:
    """One cylinder: its size, last reading, what it supplies, and the live estimate once size and reading are known.

    `since_reading` holds the last reading and the dated flows and temperatures since: with them an estimate begins
    once the size is known, and begins anew when another size is given.
    """

    name: str
    size: str | None = None
    patient: str | None = None
    used: bool = False
    value: float | None = None
    unit: str | None = None
    pressure_bar: float | None = None
    read_at_s: float | None = None
    flow_l_min: float = 0.0
    estimate: Estimate | None = None
    since_reading: tuple[tuple[float, str, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Vital:
    """A vital sign with its time."""

    value: int | str
    at_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Patient:
    """One patient: supply, device, flow, target and the latest vital signs by name."""

    name: str
    cylinder: str | None = None
    device: str | None = None
    oxygen_percent: int | None = None
    flow_l_min: float | None = None
    flow_set_at_s: float | None = None
    target_low: int | None = None
    target_high: int | None = None
    vitals: Mapping[str, Vital] = field(default_factory=lambda: MappingProxyType({}))
    previous_vitals: Mapping[str, Vital] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True, slots=True, kw_only=True)
class Pending:
    """The question that waits for an answer: a kind of meaning, the readings to choose from (JSON), and what else was
    said in the same breath and waits with it (`rest`, JSON). `believed`: how probable what was heard before it is.
    `together`: `rest` is offered with the choice, so that a no denies all of it; without choices, all is to be said
    again. `at_s`: when it was asked last."""

    about: str
    choices: tuple[dict[str, Any], ...]
    rest: tuple[dict[str, Any], ...]
    tries: int
    subject: str | None = None
    believed: tuple[tuple[dict[str, Any], float], ...] = ()
    together: bool = False
    at_s: float = 0.0

    @property
    def all_again(self) -> bool:
        """Whether all of it is to be said again, and no one thing asked for."""
        return self.together and not self.choices


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """The place in a procedure: the step in hand, the steps gone through, and the places to come back to.

    `left_at_s` says when each step of `trail` was left. `flow_before_l_min` and `cylinder_before` are the patient's
    when the procedure began.
    """

    procedure: str
    step: str
    since_s: float
    started_at_s: float
    trail: tuple[str, ...] = ()
    left_at_s: tuple[float, ...] = ()
    returns: tuple[Place, ...] = ()
    flow_before_l_min: float = 0.0
    cylinder_before: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Alert:
    """An alert that was raised: how often, when last, and when it was acknowledged."""

    alert: str
    priority: str
    cylinder: str | None
    patient: str | None
    first_at_s: float
    last_at_s: float
    times: int
    acknowledged_at_s: float | None = None


AlertKey = tuple[str, str | None, str | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenValue:
    """A value in force that can be undone: the numbers of its events, their kind, and what they are about."""

    numbers: tuple[int, ...]
    kind: str
    turn_at_s: float
    sign: str | None = None
    subject: str | None = None


def _one_patient() -> Mapping[str, Patient]:
    return MappingProxyType({"1": Patient(name="1", cylinder="1")})


def _one_cylinder() -> Mapping[str, Cylinder]:
    return MappingProxyType({"1": Cylinder(name="1", patient="1")})


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """All that is known of an incident at the time of its last event.

    `handover_later_since_s` says when hand-over was last put clearly later than the time known until then, which is
    kept in `handover_known_at_s`.
    """

    kit: Kit
    at_s: float = 0.0
    cylinders: Mapping[str, Cylinder] = field(default_factory=_one_cylinder)
    patients: Mapping[str, Patient] = field(default_factory=_one_patient)
    patient: str = "1"
    cylinder: str = "1"
    handover_at_s: float | None = None
    handover_known_at_s: float | None = None
    handover_later_since_s: float = 0.0
    altitude_m: float | None = None
    celsius: float | None = None
    question: Pending | None = None
    procedure: Place | None = None
    alerts: Mapping[AlertKey, Alert] = field(default_factory=lambda: MappingProxyType({}))
    taken: tuple[TakenValue, ...] = ()
    last_reply: str = ""

    def supply_of(self, patient: str) -> Cylinder | None:
        """The cylinder that supplies `patient`, if any."""
        known = self.patients.get(patient)
        return self.cylinders.get(known.cylinder) if known and known.cylinder else None
