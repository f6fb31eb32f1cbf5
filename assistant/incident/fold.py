"""The fold: the state of an incident from its events, one at a time.

`after(state, number, event)` gives the next state; `folded(kit, events)` the state of a whole incident, leaving out
what was withdrawn. The cost of one step does not grow with the number of events.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from typing_extensions import assert_never

from assistant.incident import events as ev
from assistant.incident.place_fold import procedure_moved
from assistant.incident.state import Alert, Cylinder, Patient, Pending, State, TakenValue, Vital
from assistant.oxygen.estimate import Estimate

if TYPE_CHECKING:
    from assistant.oxygen.kit import Kit

# Enough for "the one before"; more would let a slip of the tongue undo what is long acted on.
UNDO_DEPTH = 8
# Hand-over told this much later is news; less is the same time told again in round minutes. Our choice.
LATER_FROM_S = 240.0


def _put(table: Mapping[Any, Any], key: Any, value: Any) -> Mapping[Any, Any]:
    return MappingProxyType({**table, key: value})


def _with_cylinder(state: State, cylinder: Cylinder) -> State:
    return replace(state, cylinders=_put(state.cylinders, cylinder.name, cylinder))


def _with_patient(state: State, patient: Patient) -> State:
    return replace(state, patients=_put(state.patients, patient.name, patient))


def cylinder_of(state: State, name: str) -> Cylinder:
    """The cylinder of that name; a new one where it was not mentioned before."""
    return state.cylinders.get(name) or Cylinder(name=name)


def patient_of(state: State, name: str) -> Patient:
    """The patient of that name; a new one where not mentioned before."""
    return state.patients.get(name) or Patient(name=name)


def _moved(kit: Kit, estimate: Estimate, at_s: float, what: str, value: float) -> Estimate:
    if what == "read":
        return estimate.read(at_s, value, kit.gauge_sd_bar)
    if what == "flow":
        return estimate.flowing(at_s, value)
    if what == "shut":
        return estimate.shut(at_s)
    return estimate.warmed(at_s, value)


def _noted(state: State, cylinder: Cylinder, at_s: float, what: str, value: float) -> Cylinder:
    """`cylinder` with a reading, a flow or a temperature taken at its own time."""
    since = (*cylinder.since_reading, (at_s, what, value))
    if what == "read":
        # A cylinder that supplies nobody has its valve shut: nothing flows, and nothing leaks.
        flow = "shut" if cylinder.patient is None else "flow"
        warmth = () if state.celsius is None else ((at_s, "temperature", state.celsius),)
        since = (*warmth, (at_s, "read", value), (at_s, flow, cylinder.flow_l_min))
    cylinder = replace(cylinder, since_reading=since)
    if cylinder.estimate is not None:
        return replace(cylinder, estimate=_moved(state.kit, cylinder.estimate, at_s, what, value))
    return _estimated(state, cylinder)


def _estimated(state: State, cylinder: Cylinder) -> Cylinder:
    """`cylinder` with its estimate begun, as soon as size and a first reading are known."""
    if cylinder.size is None or not any(what == "read" for _, what, _ in cylinder.since_reading):
        return cylinder
    estimate = Estimate.started(state.kit.spec(cylinder.size), cylinder.since_reading[0][0])
    for at_s, what, value in cylinder.since_reading:
        estimate = _moved(state.kit, estimate, at_s, what, value)
    return replace(cylinder, estimate=estimate)


def _gauge_read(state: State, e: ev.GaugeRead) -> State:
    cylinder = _noted(state, cylinder_of(state, e.cylinder), e.at_s, "read", e.pressure_bar)
    return _with_cylinder(
        state,
        replace(cylinder, value=e.value, unit=e.unit, pressure_bar=e.pressure_bar, read_at_s=e.at_s),
    )


def _cylinder_sized(state: State, e: ev.CylinderSized) -> State:
    cylinder = replace(cylinder_of(state, e.cylinder), size=e.size, estimate=None)
    return _with_cylinder(state, _estimated(state, cylinder))


def _cylinder_changed(state: State, e: ev.CylinderChanged) -> State:
    patient = patient_of(state, e.patient)
    old = state.cylinders.get(patient.cylinder or "")
    if old is not None and old.name != e.cylinder:
        aside = _noted(state, old, e.at_s, "shut", 0.0)
        state = _with_cylinder(state, replace(aside, patient=None, flow_l_min=0.0))
        if state.question is not None and state.question.subject == old.name:
            # Else the new gauge, read aloud, would be taken for the old cylinder's.
            state = replace(state, question=None)
    flow = patient.flow_l_min or 0.0
    new = _noted(state, cylinder_of(state, e.cylinder), e.at_s, "flow", flow)
    state = _with_cylinder(state, replace(new, patient=e.patient, flow_l_min=flow, used=new.used or flow > 0))
    state = _with_patient(state, replace(patient, cylinder=e.cylinder))
    return replace(state, cylinder=e.cylinder)


def _flow_set(state: State, e: ev.FlowSet) -> State:
    patient = replace(patient_of(state, e.patient), flow_l_min=e.flow_l_min, flow_set_at_s=e.at_s)
    state = _with_patient(state, patient)
    if patient.cylinder is None:
        return state
    cylinder = _noted(state, cylinder_of(state, patient.cylinder), e.at_s, "flow", e.flow_l_min)
    return _with_cylinder(
        state, replace(cylinder, flow_l_min=e.flow_l_min, used=cylinder.used or e.flow_l_min > 0, patient=e.patient)
    )


def _temperature_noted(state: State, e: ev.TemperatureNoted) -> State:
    for cylinder in state.cylinders.values():
        state = _with_cylinder(state, _noted(state, cylinder, e.at_s, "temperature", e.celsius))
    return replace(state, celsius=e.celsius)


def _vital_noted(state: State, e: ev.VitalNoted) -> State:
    patient = patient_of(state, e.patient)
    before = patient.vitals.get(e.sign)
    previous = _put(patient.previous_vitals, e.sign, before) if before else patient.previous_vitals
    vitals = _put(patient.vitals, e.sign, Vital(value=e.value, at_s=e.at_s))
    return _with_patient(state, replace(patient, vitals=vitals, previous_vitals=previous))


def _attended(state: State, e: ev.Attended) -> State:
    if e.patient is not None:
        patient = patient_of(state, e.patient)
        state = replace(_with_patient(state, patient), patient=e.patient)
        state = replace(state, cylinder=patient.cylinder or state.cylinder)
    if e.cylinder is not None:
        cylinder = cylinder_of(state, e.cylinder)
        state = replace(_with_cylinder(state, cylinder), cylinder=e.cylinder)
    return state


def _question_asked(state: State, e: ev.QuestionAsked) -> State:
    pending = Pending(
        about=e.about,
        choices=e.choices,
        rest=e.rest,
        tries=e.tries,
        subject=e.subject,
        believed=e.believed,
        together=e.together,
        at_s=e.at_s,
    )
    return replace(state, question=pending)


def _alert_raised(state: State, e: ev.AlertRaised) -> State:
    key = (e.alert, e.cylinder, e.patient)
    before = state.alerts.get(key)
    alert = Alert(
        alert=e.alert,
        priority=e.priority,
        cylinder=e.cylinder,
        patient=e.patient,
        first_at_s=before.first_at_s if before and before.acknowledged_at_s is None else e.at_s,
        last_at_s=e.at_s,
        times=before.times + 1 if before and before.acknowledged_at_s is None else 1,
    )
    return replace(state, alerts=_put(state.alerts, key, alert))


def _alert_acknowledged(state: State, e: ev.AlertAcknowledged) -> State:
    key = (e.alert, e.cylinder, e.patient)
    before = state.alerts.get(key)
    if before is None:
        return state
    return replace(state, alerts=_put(state.alerts, key, replace(before, acknowledged_at_s=e.at_s)))


# What an undo can take back: values, not questions, notes or the places in a procedure.
_UNDOABLE = (
    ev.GaugeRead,
    ev.CylinderSized,
    ev.CylinderChanged,
    ev.FlowSet,
    ev.DeviceFitted,
    ev.VitalNoted,
    ev.HandoverExpected,
    ev.TargetSet,
    ev.AltitudeNoted,
    ev.TemperatureNoted,
    ev.NoteMade,
)


def _handover_expected(state: State, event: ev.HandoverExpected) -> State:
    """The time as told; what was known before moves only by as much as is news, so that small delays add up."""
    known_s = state.handover_known_at_s
    state = replace(state, handover_at_s=event.handover_at_s)
    if known_s is None or event.handover_at_s > known_s + LATER_FROM_S:
        return replace(state, handover_known_at_s=event.handover_at_s, handover_later_since_s=event.at_s)
    return replace(state, handover_known_at_s=min(known_s, event.handover_at_s))


def after(state: State, number: int, event: ev.Event) -> State:
    """The state after `event`, the incident's `number`-th."""
    state = replace(_folded_one(state, event), at_s=max(state.at_s, event.at_s))
    if isinstance(event, _UNDOABLE):
        value = TakenValue(
            numbers=(number,),
            kind=event.kind,
            turn_at_s=event.at_s,
            sign=getattr(event, "sign", None),
            subject=getattr(event, "cylinder", None) or getattr(event, "patient", None),
        )
        state = replace(state, taken=(*state.taken, value)[-UNDO_DEPTH:])
    return state


def _folded_one(state: State, event: ev.Event) -> State:
    match event:
        case ev.GaugeRead():
            return _gauge_read(state, event)
        case ev.CylinderSized():
            return _cylinder_sized(state, event)
        case ev.CylinderChanged():
            return _cylinder_changed(state, event)
        case ev.FlowSet():
            return _flow_set(state, event)
        case ev.DeviceFitted():
            patient = patient_of(state, event.patient)
            return _with_patient(state, replace(patient, device=event.device, oxygen_percent=event.oxygen_percent))
        case ev.VitalNoted():
            return _vital_noted(state, event)
        case ev.HandoverExpected():
            return _handover_expected(state, event)
        case ev.TargetSet():
            patient = patient_of(state, event.patient)
            return _with_patient(state, replace(patient, target_low=event.low, target_high=event.high))
        case ev.AltitudeNoted():
            return replace(state, altitude_m=event.metres)
        case ev.TemperatureNoted():
            return _temperature_noted(state, event)
        case ev.Attended():
            return _attended(state, event)
        case ev.ProcedureMoved():
            return procedure_moved(state, event)
        case ev.QuestionAsked():
            return _question_asked(state, event)
        case ev.QuestionClosed():
            return replace(state, question=None)
        case ev.AlertRaised():
            return _alert_raised(state, event)
        case ev.AlertAcknowledged():
            return _alert_acknowledged(state, event)
        case ev.UtteranceHeard():
            return replace(state, last_reply=event.reply) if event.reply else state
        case ev.NoteMade() | ev.ProblemReported() | ev.Withdrawn() | ev.DrillCued():
            return state
        case _:
            assert_never(event)


def folded(kit: Kit, events: Iterable[tuple[int, ev.Event]], before: State | None = None) -> State:
    """The state of a whole incident, or what follows the state `before`, without the events that a `Withdrawn` names.

    Events count in the order of their times: a corrected value holds from the time of the one it replaces.
    """
    numbered = sorted(events, key=lambda pair: (pair[1].at_s, pair[0]))
    gone = {n for _, event in numbered if isinstance(event, ev.Withdrawn) for n in event.numbers}
    state = State(kit=kit) if before is None else before
    for number, event in numbered:
        if number not in gone:
            state = after(state, number, event)
    return state
