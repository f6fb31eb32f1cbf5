"""The hand-over in the order of a mnemonic of the trade: ATMIST or SBAR, as lines of print.

ATMIST: age, time, mechanism, injuries, signs, treatment (RCEM Learning, "Pre-hospital communication"). SBAR:
situation, background, assessment, recommendation (NHS England, SBAR communication tool). What was not recorded is
said to be so.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from assistant.oxygen.supply import spoken_minutes
from assistant.report import words
from assistant.report.summary import CylinderSummary, PatientSummary, Summary

_OF_A_PATIENT = Callable[[PatientSummary, Summary], str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """One letter of the mnemonic: its title, and a line for each thing to say."""

    letter: str
    title: str
    lines: tuple[str, ...]


def sections(summary: Summary, order: words.Order = "ATMIST") -> tuple[Section, ...]:
    """The hand-over, one section for each letter."""
    return _atmist(summary) if order == "ATMIST" else _sbar(summary)


def _atmist(summary: Summary) -> tuple[Section, ...]:
    return (
        Section(letter="A", title="Age and sex", lines=_each(summary, _noted("age"))),
        Section(letter="T", title="Time", lines=_times(summary)),
        Section(letter="M", title="Mechanism", lines=_each(summary, _noted("mechanism"))),
        Section(letter="I", title="Injuries or illness", lines=_each(summary, _noted("injuries"))),
        Section(letter="S", title="Signs", lines=_each(summary, _signs)),
        Section(
            letter="T",
            title="Treatment",
            lines=(*_each(summary, _treatment), *_supply(summary), *_alerts(summary)),
        ),
    )


def _sbar(summary: Summary) -> tuple[Section, ...]:
    return (
        Section(letter="S", title="Situation", lines=(*_each(summary, _situation), *_times(summary))),
        Section(letter="B", title="Background", lines=_each(summary, _background)),
        Section(letter="A", title="Assessment", lines=(*_each(summary, _signs), *_alerts(summary))),
        Section(letter="R", title="Recommendation", lines=(*_each(summary, _onwards), *_supply(summary))),
    )


def _each(summary: Summary, line: _OF_A_PATIENT) -> tuple[str, ...]:
    """A line for each patient, with the number where there are several."""
    several = len(summary.patients) > 1
    return tuple(
        f"Patient {patient.name}: {line(patient, summary)}" if several else words.capital(line(patient, summary))
        for patient in summary.patients
    )


def _noted(field: str) -> _OF_A_PATIENT:
    return lambda patient, summary: words.noted_in(field, patient, summary) or words.NOT_RECORDED


def _background(patient: PatientSummary, summary: Summary) -> str:
    parts = []
    for field in words.NOTE_FIELDS:
        parts.append(f"{field} {words.noted_in(field, patient, summary) or words.NOT_RECORDED}")
    return "; ".join(parts)


def _situation(patient: PatientSummary, summary: Summary) -> str:
    saturation = patient.latest("oxygen_saturation")
    sign = f"saturation {words.vital(saturation)}" if saturation else f"saturation {words.NOT_RECORDED}"
    now = f"on {words.supply(patient.now)}" if patient.now else f"oxygen {words.NOT_RECORDED}"
    return f"{sign} {now}"


def _times(summary: Summary) -> tuple[str, ...]:
    began = f"Record from {summary.clock(0)} to {summary.clock(summary.until_s)} "
    began += f"({words.minutes(0, summary.until_s)})"
    expected = summary.clock(summary.handover_s) if summary.handover_s is not None else words.NOT_RECORDED
    return (began, f"Hand-over expected: {expected}")


def _signs(patient: PatientSummary, summary: Summary) -> str:
    parts = [_saturation(patient, summary)]
    for sign, name in (("heart_rate", "pulse"), ("respiratory_rate", "breathing")):
        point = patient.latest(sign)
        parts.append(f"{name} {words.vital(point)}" if point else f"{name} {words.NOT_RECORDED}")
    upper, lower = patient.latest("systolic"), patient.latest("diastolic")
    pressure = f"{upper.value if upper else '?'}/{lower.value if lower else '?'} mmHg"
    parts.append(f"blood pressure {pressure if upper or lower else words.NOT_RECORDED}")
    awake = patient.latest("consciousness")
    parts.append(words.vital(awake) if awake else f"consciousness {words.NOT_RECORDED}")
    latest_s = max((point.at_s for point in patient.vitals), default=None)
    return "; ".join(parts) + (f" (last noted {summary.clock(latest_s)})" if latest_s is not None else "")


def _saturation(patient: PatientSummary, summary: Summary) -> str:
    points = patient.of("oxygen_saturation")
    if not points:
        return f"saturation {words.NOT_RECORDED}"
    told = f"saturation {words.vital(points[-1])}"
    if len(points) == 1:
        return told
    lowest = min(points, key=lambda point: int(point.value))
    first = f"first {points[0].value} % at {summary.clock(points[0].at_s)}"
    lowest_told = "" if lowest is points[0] else f", lowest {lowest.value} % at {summary.clock(lowest.at_s)}"
    return f"{told} ({first}{lowest_told})"


def _treatment(patient: PatientSummary, summary: Summary) -> str:
    if not patient.spans or patient.now is None:
        return f"oxygen {words.NOT_RECORDED}"
    began = summary.clock(patient.spans[0].begin_s)
    target = f"{patient.target[0]}–{patient.target[1]} %" if patient.target else words.NOT_RECORDED
    given = f"about {words.litres(patient.litres)} given by the flow set" if patient.litres else "nothing given yet"
    return f"oxygen from {began}; now {words.supply(patient.now)}; {given}; target {target}"


def _onwards(patient: PatientSummary, summary: Summary) -> str:
    """What the receiving team takes over; what to do about it is theirs and their protocol's."""
    return f"{_treatment(patient, summary)}; further treatment by your protocol"


def _supply(summary: Summary) -> tuple[str, ...]:
    """The cylinders in use and those that are left."""
    in_use = [each for each in summary.cylinders if each.patient]
    others = [each for each in summary.cylinders if not each.patient and each.left_l and each.left_l >= 1]
    lines = tuple(_in_use(each, summary) for each in in_use) or (f"Cylinder in use: {words.NOT_RECORDED}",)
    if not others:
        return (*lines, "No other cylinder on record holds more than the reserve")
    left = "; ".join(
        f"{words.cylinder(each, summary)} about {words.gauge(each.pressure)}, {words.litres(each.left_l)} above reserve"
        for each in others
    )
    return (*lines, f"Also left: {left}")


def _in_use(cylinder: CylinderSummary, summary: Summary) -> str:
    whom = f" for patient {cylinder.patient}" if len(summary.patients) > 1 else ""
    named = f"In use{whom}: {words.cylinder(cylinder, summary)}"
    if not cylinder.readings:
        return f"{named}, gauge {words.NOT_RECORDED}"
    read = cylinder.readings[-1]
    last = f"read {words.measure(read.measure)} at {summary.clock(read.at_s)}"
    return f"{named}, about {words.gauge(cylinder.pressure)} ({last}), {_lasting(cylinder)}"


def _lasting(cylinder: CylinderSummary) -> str:
    if cylinder.minutes is None:
        return "minutes left not known"
    if spoken_minutes(cylinder.minutes) <= 0:
        return "at or below reserve"
    return f"about {words.left(cylinder.minutes)} to reserve"


def _alerts(summary: Summary) -> tuple[str, ...]:
    if not summary.alerts:
        return ("Alerts: none raised",)
    open_ = [alert for alert in summary.alerts if alert.acknowledged_s is None]
    last = summary.alerts[-1]
    told = f"Alerts: {len(summary.alerts)} raised, {len(open_)} not acknowledged; last {words.alert_name(last.alert)}"
    told += f" at {summary.clock(last.first_s)}"
    if last.followed_by is not None:
        told += f", then {words.deed(last.followed_by, summary)} at {summary.clock(last.followed_by.at_s)}"
    return (told,)
