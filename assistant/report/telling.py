"""Goes through an incident's events once, with the shared fold, and gathers what the Summary holds."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from assistant.dialogue.supply_now import supply_now
from assistant.incident import events as ev
from assistant.incident.fold import after
from assistant.incident.state import Patient, State
from assistant.oxygen.kit import Kit
from assistant.oxygen.refusal import OxygenError
from assistant.quantity import Measure, number_in
from assistant.report.summary import (
    AlertSummary,
    CurvePoint,
    CylinderSummary,
    PatientSummary,
    Reading,
    Span,
    Summary,
    VitalPoint,
)

CURVE_STEP_S = 60.0
# What a rescuer may do about each alert; the first of these on record soon after it is told beside it.
_SUPPLY_DEEDS = (ev.CylinderChanged, ev.FlowSet, ev.DeviceFitted, ev.HandoverExpected)
_DEEDS: dict[str, tuple[type, ...]] = {
    "reading_overdue": (ev.GaugeRead,),
    "leak_suspected": (ev.GaugeRead, ev.ProcedureMoved, ev.CylinderChanged),
    "saturation_low": (ev.FlowSet, ev.DeviceFitted, ev.CylinderChanged),
    "flow_out_of_range": (ev.FlowSet, ev.DeviceFitted),
}
_FOLLOWS_WITHIN_S = 600.0


def told(
    numbered: tuple[tuple[int, ev.Event], ...], kit: Kit, began: datetime | None, until_s: float | None
) -> Summary:
    """The summary; see `summarised`."""
    end_s = max([until_s or 0.0, *(event.at_s for _, event in numbered)])
    gone = {n: event.at_s for _, event in numbered if isinstance(event, ev.Withdrawn) for n in event.numbers}
    in_time = sorted(numbered, key=lambda pair: (pair[1].at_s, pair[0]))
    standing = tuple((number, event) for number, event in in_time if number not in gone)
    course = _Course(kit)
    for number, event in standing:
        course.take(number, event)
    course.close(end_s)
    events = tuple(event for _, event in standing)
    return Summary(
        kit=kit,
        began=began,
        until_s=end_s,
        patients=tuple(course.patient(name) for name in course.patient_names(events)),
        cylinders=tuple(course.cylinder(name, events, end_s) for name in course.cylinder_names(events)),
        alerts=_alerts(events),
        notes=tuple(event for event in events if isinstance(event, ev.NoteMade)),
        problems=tuple(event for event in events if isinstance(event, ev.ProblemReported)),
        procedures=tuple(event for event in events if isinstance(event, ev.ProcedureMoved)),
        withdrawn=tuple((event, gone[number]) for number, event in in_time if number in gone),
        events=events,
        handover_s=course.state.handover_at_s,
        altitude_m=course.state.altitude_m,
        celsius=course.state.celsius,
    )


class _Course:
    """The fold with a memory: how each patient was supplied over time, and where each needle was."""

    def __init__(self, kit: Kit) -> None:
        self.state = State(kit=kit)
        self._open: dict[str, Span] = {}
        self._spans: dict[str, list[Span]] = {}
        self._curves: dict[str, list[CurvePoint]] = {}
        self._vitals: dict[str, list[VitalPoint]] = {}
        self._sampled_s = 0.0

    def take(self, number: int, event: ev.Event) -> None:
        self._sample_until(event.at_s)
        self.state = after(self.state, number, event)
        if isinstance(event, ev.VitalNoted):
            point = VitalPoint(at_s=event.at_s, sign=event.sign, value=event.value)
            self._vitals.setdefault(event.patient, []).append(point)
        if isinstance(event, ev.GaugeRead):
            self._sample(event.cylinder, event.at_s)
        for patient in self.state.patients.values():
            self._note_supply(patient, event.at_s)

    def close(self, end_s: float) -> None:
        self._sample_until(end_s)
        for name in list(self._open):
            self._end(name, end_s)
        for cylinder in self.state.cylinders.values():
            if cylinder.patient is not None:
                self._sample(cylinder.name, end_s)

    def patient_names(self, events: tuple[ev.Event, ...]) -> list[str]:
        """Patients of whom anything is on record; the first one always."""
        return sorted({"1", *_named("patient", events)}, key=_in_order)

    def cylinder_names(self, events: tuple[ev.Event, ...]) -> list[str]:
        """Cylinders that were read, sized, changed to or drawn from."""
        named = _named("cylinder", tuple(event for event in events if not isinstance(event, ev.Attended)))
        spans = [span for each in self._spans.values() for span in each]
        drawn = {span.cylinder for span in spans if span.flow_l_min and span.cylinder is not None}
        return sorted(named | drawn, key=_in_order)

    def patient(self, name: str) -> PatientSummary:
        known = self.state.patients.get(name)
        low, high = (known.target_low, known.target_high) if known else (None, None)
        return PatientSummary(
            name=name,
            spans=tuple(self._spans.get(name, ())),
            vitals=tuple(self._vitals.get(name, ())),
            target=None if low is None or high is None else (low, high),
        )

    def cylinder(self, name: str, events: tuple[ev.Event, ...], end_s: float) -> CylinderSummary:
        held = self.state.cylinders.get(name)
        now = supply_now(held, self.state, end_s) if held else None
        readings = tuple(_reading(e) for e in events if isinstance(e, ev.GaugeRead) and e.cylinder == name)
        spans = [span for each in self._spans.values() for span in each if span.cylinder == name]
        size = held.size if held else None
        return CylinderSummary(
            name=name,
            size=size,
            readings=readings,
            curve=tuple(self._curves.get(name, ())),
            patient=held.patient if held and held.used else None,
            used_l=sum(span.litres for span in spans),
            gone_l=self._between(size, readings),
            pressure=now.pressure if now else None,
            left_l=self._left(size, now.pressure if now else None),
            minutes=now.minutes if now else None,
        )

    def _between(self, size: str | None, readings: tuple[Reading, ...]) -> float | None:
        """Litres between the first and the last reading, by the shared calculator."""
        if size is None or len(readings) < 2:
            return None
        spec, celsius = self.state.kit.spec(size), self.state.celsius
        return spec.content_l(readings[0].pressure_bar, celsius) - spec.content_l(readings[-1].pressure_bar, celsius)

    def _left(self, size: str | None, pressure: Measure | None) -> float | None:
        """Litres above the reserve, never more than the real gas gives."""
        if size is None or pressure is None:
            return None
        pressure_bar = number_in(pressure, "bar")
        return self.state.kit.spec(size).surely_l(pressure_bar, self.state.kit.reserve_bar, self.state.celsius)

    def _note_supply(self, patient: Patient, at_s: float) -> None:
        now = Span(
            begin_s=at_s,
            end_s=at_s,
            device=patient.device,
            oxygen_percent=patient.oxygen_percent,
            flow_l_min=patient.flow_l_min,
            cylinder=patient.cylinder,
        )
        before = self._open.get(patient.name)
        if before is not None and replace(now, begin_s=before.begin_s, end_s=before.end_s) == before:
            return
        self._end(patient.name, at_s)
        if patient.device is not None or patient.flow_l_min is not None:
            self._open[patient.name] = now

    def _end(self, name: str, at_s: float) -> None:
        span = self._open.pop(name, None)
        if span is not None and at_s > span.begin_s:
            self._spans.setdefault(name, []).append(replace(span, end_s=at_s))

    def _sample_until(self, at_s: float) -> None:
        while self._sampled_s + CURVE_STEP_S < at_s:
            self._sampled_s += CURVE_STEP_S
            for cylinder in self.state.cylinders.values():
                if cylinder.patient is not None:
                    self._sample(cylinder.name, self._sampled_s)

    def _sample(self, name: str, at_s: float) -> None:
        held = self.state.cylinders[name]
        if held.estimate is None or not held.estimate.known:
            return
        try:
            mean_bar, sd_bar = held.estimate.pressure_bar(at_s)
        except OxygenError:
            return
        self._curves.setdefault(name, []).append(CurvePoint(at_s=at_s, pressure_bar=mean_bar, sd_bar=sd_bar))


def _reading(event: ev.GaugeRead) -> Reading:
    measure = Measure(value=event.value, unit=event.unit)
    return Reading(at_s=event.at_s, measure=measure, pressure_bar=event.pressure_bar)


def _named(what: str, events: tuple[ev.Event, ...]) -> set[str]:
    names = {getattr(event, what, None) for event in events}
    return {name for name in names if isinstance(name, str)}


def _in_order(name: str) -> tuple[int, str]:
    return (int(name) if name.isdigit() else 10_000, name)


def _alerts(events: tuple[ev.Event, ...]) -> tuple[AlertSummary, ...]:
    """Alerts raised again before they were acknowledged count as one."""
    found: list[AlertSummary] = []
    for index, event in enumerate(events):
        if isinstance(event, ev.AlertRaised):
            again = _waiting(found, event)
            if again is None:
                found.append(_raised(event, events[index + 1 :]))
            else:
                found[again] = replace(found[again], times=found[again].times + 1)
        elif isinstance(event, ev.AlertAcknowledged):
            waiting = _waiting(found, event)
            if waiting is not None:
                found[waiting] = replace(found[waiting], acknowledged_s=event.at_s)
    return tuple(found)


def _waiting(found: list[AlertSummary], event: ev.AlertRaised | ev.AlertAcknowledged) -> int | None:
    for index in range(len(found) - 1, -1, -1):
        alert = found[index]
        same = (alert.alert, alert.cylinder, alert.patient) == (event.alert, event.cylinder, event.patient)
        if same and alert.acknowledged_s is None:
            return index
    return None


def _raised(event: ev.AlertRaised, later: tuple[ev.Event, ...]) -> AlertSummary:
    deeds = _DEEDS.get(event.alert, _SUPPLY_DEEDS)
    followed_by = next((each for each in later if isinstance(each, deeds)), None)
    if followed_by is not None and followed_by.at_s > event.at_s + _FOLLOWS_WITHIN_S:
        followed_by = None
    return AlertSummary(
        alert=event.alert,
        priority=event.priority,
        cylinder=event.cylinder,
        patient=event.patient,
        first_s=event.at_s,
        times=1,
        acknowledged_s=None,
        followed_by=followed_by,
    )
