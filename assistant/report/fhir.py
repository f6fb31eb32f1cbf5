"""The incident as a FHIR R4 bundle for the receiving team's systems: observations, devices, the oxygen given, notes.

Codes are LOINC and units UCUM where a code is known for certain; where none is, the concept is told in words alone
and no code is made up. Sources: HL7 FHIR R4 vital signs profile; US Core pulse oximetry profile.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from assistant.dialogue.readback import AVPU_SAID, DEVICE_SAID
from assistant.incident import events as ev
from assistant.report.summary import CylinderSummary, PatientSummary, Span, Summary, VitalPoint
from assistant.report.words import NOT_RECORDED, alert_name

Resource = dict[str, Any]

_LOINC, _UCUM = "http://loinc.org", "http://unitsofmeasure.org"
# Code, display, UCUM unit; from the value sets named above. 3150-6, which circulates for the concentration, fails
# LOINC's check digit: 3150-0 is the one.
_VITALS = {
    "oxygen_saturation": (("59408-5", "Oxygen saturation in Arterial blood by Pulse oximetry"), "%"),
    "heart_rate": (("8867-4", "Heart rate"), "/min"),
    "respiratory_rate": (("9279-1", "Respiratory rate"), "/min"),
    "systolic": (("8480-6", "Systolic blood pressure"), "mm[Hg]"),
    "diastolic": (("8462-4", "Diastolic blood pressure"), "mm[Hg]"),
}
_SATURATION_TOO = ("2708-6", "Oxygen saturation in Arterial blood")  # the FHIR vital signs profile asks for it
_PRESSURE_PANEL = ("85354-9", "Blood pressure panel with all children optional")
_FLOW = ("3151-8", "Inhaled oxygen flow rate")
_CONCENTRATION = ("3150-0", "Inhaled oxygen concentration")
# The UCUM table (ucum.org): pounds per square inch is [psi]; the others are as they are said.
_PRESSURE_UNITS = {"psi": "[psi]", "bar": "bar", "MPa": "MPa", "kPa": "kPa"}
_ONE_MEASUREMENT_S = 60.0


def fhir_bundle(summary: Summary) -> Resource:
    """The bundle as JSON values; the same incident always gets the same identifiers."""
    book = _Book(summary)
    for patient in summary.patients:
        _add_patient(book, patient)
    for cylinder in summary.cylinders:
        _add_cylinder(book, cylinder)
    for alert in summary.events:
        if isinstance(alert, ev.AlertRaised):
            _add_alert(book, alert)
    bundle: Resource = {"resourceType": "Bundle", "type": "collection", "entry": book.entries}
    if summary.drill:
        bundle["meta"] = {"tag": [{"display": "drill, no real patient"}]}
    if summary.began is not None:
        bundle["timestamp"] = book.moment(summary.until_s)
    return bundle


class _Book:
    """The bundle's entries so far, with the addresses by which they point to one another."""

    def __init__(self, summary: Summary) -> None:
        self.summary = summary
        self.entries: list[Resource] = []
        self._incident = f"oxygen-assistant:{summary.began}:{summary.until_s}"

    def url(self, name: str) -> str:
        return f"urn:uuid:{uuid5(NAMESPACE_URL, f'{self._incident}:{name}')}"

    def add(self, name: str, resource: Resource) -> None:
        self.entries.append({"fullUrl": self.url(name), "resource": resource})

    def observe(self, name: str, patient: str | None, at_s: float, **rest: Any) -> None:
        resource: Resource = {"resourceType": "Observation", "status": "final"}
        if patient is not None:
            resource["subject"] = self.to(f"patient-{patient}")
        if self.summary.began is not None:
            resource["effectiveDateTime"] = self.moment(at_s)
        self.add(name, resource | rest)

    def to(self, name: str) -> Resource:
        return {"reference": self.url(name)}

    def moment(self, at_s: float) -> str:
        assert self.summary.began is not None
        return (self.summary.began + timedelta(seconds=at_s)).isoformat(timespec="milliseconds")

    def period(self, begin_s: float, end_s: float) -> Resource:
        if self.summary.began is None:
            return {}
        return {"start": self.moment(begin_s), "end": self.moment(end_s)}


def _add_patient(book: _Book, patient: PatientSummary) -> None:
    name = patient.name
    book.add(f"patient-{name}", {"resourceType": "Patient", "identifier": [{"value": f"patient {name}"}]})
    for point in patient.vitals:
        if point.sign not in ("systolic", "diastolic"):
            book.observe(f"{name}-{point.sign}-{point.at_s}", name, point.at_s, **_vital(point, patient))
    for pair in _pressures(patient):
        book.observe(f"{name}-pressure-{pair[0].at_s}", name, pair[0].at_s, **_blood_pressure(pair))
    for event in book.summary.events:
        if isinstance(event, ev.FlowSet) and event.patient == name:
            book.observe(
                f"{name}-flow-{event.at_s}",
                name,
                event.at_s,
                code=_concept(_FLOW),
                valueQuantity=_quantity(event.flow_l_min, "L/min"),
            )
    _add_treatment(book, patient)
    if patient.target is not None:
        book.add(f"{name}-goal", _goal(book, patient, patient.target))


def _vital(point: VitalPoint, patient: PatientSummary) -> Resource:
    if isinstance(point.value, str):  # a letter of AVPU
        value = {"valueCodeableConcept": {"text": f"{point.value}: {AVPU_SAID[point.value]}"}}
        return {"category": [_category()], "code": {"text": "Level of consciousness, AVPU"}, **value}
    code, unit = _VITALS[point.sign]
    made: Resource = {"category": [_category()], "code": _concept(code), "valueQuantity": _quantity(point.value, unit)}
    if point.sign == "oxygen_saturation":
        made["code"] = _concept(code, _SATURATION_TOO)
        breathed = _breathed(patient, point.at_s)
        if breathed:
            made["component"] = breathed
    return made


def _breathed(patient: PatientSummary, at_s: float) -> list[Resource]:
    """The flow, and the concentration where the device fixes it, at the time of a saturation."""
    span = next((each for each in reversed(patient.spans) if each.begin_s <= at_s <= each.end_s), None)
    if span is None:
        return []
    parts = []
    if span.flow_l_min is not None:
        parts.append({"code": _concept(_FLOW), "valueQuantity": _quantity(span.flow_l_min, "L/min")})
    if span.oxygen_percent is not None:
        parts.append({"code": _concept(_CONCENTRATION), "valueQuantity": _quantity(span.oxygen_percent, "%")})
    return parts


def _pressures(patient: PatientSummary) -> list[list[VitalPoint]]:
    """Systolic and diastolic that were noted together, as one measurement; either may stand alone."""
    pairs: list[list[VitalPoint]] = []
    for point in patient.vitals:
        if point.sign not in ("systolic", "diastolic"):
            continue
        last = pairs[-1] if pairs else []
        if last and point.at_s - last[0].at_s <= _ONE_MEASUREMENT_S and point.sign not in {p.sign for p in last}:
            last.append(point)
        else:
            pairs.append([point])
    return pairs


def _blood_pressure(pair: list[VitalPoint]) -> Resource:
    components = [
        {"code": _concept(_VITALS[point.sign][0]), "valueQuantity": _quantity(point.value, "mm[Hg]")} for point in pair
    ]
    return {"category": [_category()], "code": _concept(_PRESSURE_PANEL), "component": components}


def _add_treatment(book: _Book, patient: PatientSummary) -> None:
    """One device use for each stretch of the same supply, and one procedure over all of it with the notes."""
    for number, span in enumerate(patient.spans):
        if span.device is not None:
            _add_device_use(book, patient, span, f"{patient.name}-device-{number}")
    if patient.spans:
        began_s, ended_s = patient.spans[0].begin_s, patient.spans[-1].end_s
        book.observe(
            f"{patient.name}-given",
            patient.name,
            ended_s,
            code={"text": "Oxygen given, by flow set and time"},
            valueQuantity=_quantity(round(patient.litres, 1), "L"),
        )
        book.add(f"{patient.name}-procedure", _procedure(book, patient, began_s, ended_s))
    elif _notes(book, patient):
        book.add(f"{patient.name}-procedure", _procedure(book, patient, 0.0, book.summary.until_s))


def _add_device_use(book: _Book, patient: PatientSummary, span: Span, name: str) -> None:
    percent = f", {span.oxygen_percent} %" if span.oxygen_percent else ""
    device = DEVICE_SAID[span.device] if span.device else NOT_RECORDED
    book.add(name, {"resourceType": "Device", "type": {"text": device + percent}})
    use: Resource = {
        "resourceType": "DeviceUseStatement",
        "status": "completed",
        "subject": book.to(f"patient-{patient.name}"),
        "device": book.to(name),
        "note": [{"text": f"flow {_said(span.flow_l_min)}, cylinder {span.cylinder}"}],
    }
    period = book.period(span.begin_s, span.end_s)
    book.add(f"{name}-use", use | ({"timingPeriod": period} if period else {}))


def _procedure(book: _Book, patient: PatientSummary, began_s: float, ended_s: float) -> Resource:
    made: Resource = {
        "resourceType": "Procedure",
        "status": "completed",
        "code": {"text": "Oxygen therapy"},
        "subject": book.to(f"patient-{patient.name}"),
    }
    period, notes = book.period(began_s, ended_s), _notes(book, patient)
    return made | ({"performedPeriod": period} if period else {}) | ({"note": notes} if notes else {})


def _notes(book: _Book, patient: PatientSummary) -> list[Resource]:
    notes = []
    for note in book.summary.notes:
        if note.text.strip() and note.patient in (None, patient.name):
            time = {"time": book.moment(note.at_s)} if book.summary.began else {}
            notes.append({"text": note.text.strip(), **time})
    return notes


def _goal(book: _Book, patient: PatientSummary, target: tuple[int, int]) -> Resource:
    low, high = (_quantity(value, "%") for value in target)
    wanted = {"measure": _concept(_VITALS["oxygen_saturation"][0]), "detailRange": {"low": low, "high": high}}
    return {
        "resourceType": "Goal",
        "lifecycleStatus": "active",
        "subject": book.to(f"patient-{patient.name}"),
        "description": {"text": f"Saturation {target[0]} to {target[1]} %"},
        "target": [wanted],
    }


def _add_cylinder(book: _Book, cylinder: CylinderSummary) -> None:
    name = f"cylinder-{cylinder.name}"
    size = f"size {cylinder.size}" if cylinder.size else f"size {NOT_RECORDED}"
    book.add(name, {"resourceType": "Device", "type": {"text": f"Oxygen cylinder {cylinder.name}, {size}"}})
    for reading in cylinder.readings:
        unit = _PRESSURE_UNITS.get(reading.measure.unit)
        value = _quantity(reading.measure.value, unit, reading.measure.unit)
        book.observe(
            f"{name}-{reading.at_s}",
            None,
            reading.at_s,
            code={"text": "Cylinder gauge pressure"},
            valueQuantity=value,
            device=book.to(name),
        )


def _add_alert(book: _Book, alert: ev.AlertRaised) -> None:
    about = {"device": book.to(f"cylinder-{alert.cylinder}")} if alert.cylinder else {}
    book.observe(
        f"alert-{alert.alert}-{alert.cylinder}-{alert.patient}-{alert.at_s}",
        alert.patient,
        alert.at_s,
        code={"text": f"Alert, {alert.priority}: {alert_name(alert.alert)}"},
        valueString=alert.say or "-",
        **about,
    )


def _category() -> Resource:
    system = "http://terminology.hl7.org/CodeSystem/observation-category"
    return {"coding": [{"system": system, "code": "vital-signs", "display": "Vital Signs"}]}


def _concept(*codes: tuple[str, str]) -> Resource:
    return {"coding": [{"system": _LOINC, "code": code, "display": display} for code, display in codes]}


def _quantity(value: float | str, code: str | None, unit: str | None = None) -> Resource:
    made: Resource = {"value": value, "unit": unit or code}
    return made | ({"system": _UCUM, "code": code} if code else {})


def _said(flow_l_min: float | None) -> str:
    return NOT_RECORDED if flow_l_min is None else f"{flow_l_min:g} L/min"
