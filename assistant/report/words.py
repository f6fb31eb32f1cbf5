"""The words and figures of the printed report: one place for every phrase that two of its forms share."""

from __future__ import annotations

from math import floor
from typing import Literal

from assistant.dialogue.readback import AVPU_SAID, DEVICE_SAID
from assistant.dialogue.supply_now import SupplyNow
from assistant.incident import events as ev
from assistant.oxygen.supply import Interval, spoken_minutes
from assistant.quantity import Measure
from assistant.report.summary import CylinderSummary, PatientSummary, Span, Summary, VitalPoint

Order = Literal["ATMIST", "SBAR"]

NOT_RECORDED = "not recorded"

# Column heads of the signs, in the order of a vital signs chart, with their units.
SIGN_HEADS = {
    "oxygen_saturation": "SpO₂ %",
    "heart_rate": "Pulse /min",
    "respiratory_rate": "Resp. /min",
    "blood_pressure": "BP mmHg",
    "consciousness": "AVPU",
}

# Notes that begin with one of these words fill the field of the hand-over that they name; nothing else does.
NOTE_FIELDS = {
    "age": ("age", "sex"),
    "mechanism": ("mechanism", "cause", "found"),
    "injuries": ("injuries", "injury", "illness", "complaint"),
    "history": ("history", "allergies", "allergy", "medication", "medications", "medicines"),
}


def capital(text: str) -> str:
    """The text with its first letter a capital."""
    return text[:1].upper() + text[1:]


def number(value: float) -> str:
    """A figure without needless decimals."""
    return f"{value:.1f}".rstrip("0").rstrip(".") if value % 1 else f"{value:.0f}"


def measure(value: Measure) -> str:
    """A quantity as it was said: "1500 psi"."""
    return f"{number(value.value)} {value.unit}"


def device(span: Span) -> str:
    """A device with the percentage of its valve, if any."""
    if span.device is None:
        return f"device {NOT_RECORDED}"
    percent = f" {span.oxygen_percent} %" if span.oxygen_percent else ""
    return DEVICE_SAID[span.device] + percent


def flow(flow_l_min: float | None) -> str:
    """A flow: "15 L/min", "off"."""
    if flow_l_min is None:
        return f"flow {NOT_RECORDED}"
    return "off" if flow_l_min == 0 else f"{number(flow_l_min)} L/min"


def supply(span: Span) -> str:
    """Device and flow: "non-rebreather, 15 L/min"."""
    return f"{device(span)}, {flow(span.flow_l_min)}"


def minutes(begin_s: float, end_s: float) -> str:
    """A duration in whole minutes, "1 h 05" from an hour up."""
    whole = floor((end_s - begin_s) / 60 + 1e-9)
    return f"{whole} min" if whole < 60 else f"{whole // 60} h {whole % 60:02d}"


def left(minutes_left: Interval | None) -> str:
    """Minutes to the reserve, rounded down, as they are spoken."""
    if minutes_left is None:
        return "–"
    return f"{spoken_minutes(minutes_left)} min"


def litres(value: float | None) -> str:
    """Litres rounded down to whole ones; "–" where they are not known."""
    return "–" if value is None else f"{floor(value + 1e-9)} L"


def gauge(value: Measure | None) -> str:
    """A pressure rounded down to the step of its unit; "–" where it is not known."""
    if value is None:
        return "–"
    step = {"psi": 10.0, "kPa": 100.0, "MPa": 0.1}.get(value.unit, 1.0)
    return f"{number(floor(value.value / step + 1e-9) * step)} {value.unit}"


def cylinder(item: CylinderSummary | SupplyNow, summary: Summary) -> str:
    """A cylinder by number, size and the carrier's word: "cylinder 1 (D, small)"."""
    name = item.name if isinstance(item, CylinderSummary) else item.cylinder
    if item.size is None:
        return f"cylinder {name} (size {NOT_RECORDED})"
    called = summary.kit.called(item.size)
    return f"cylinder {name} ({item.size}{f', {called}' if called else ''})"


def vital(point: VitalPoint) -> str:
    """A value with its unit: "94 %", "110 /min", "responds to voice"."""
    if isinstance(point.value, str):
        return AVPU_SAID[point.value]
    unit = {"oxygen_saturation": " %", "systolic": " mmHg", "diastolic": " mmHg"}.get(point.sign, " /min")
    return f"{point.value}{unit}"


def alert_name(alert: str) -> str:
    """An alert's kind as words: "reserve near"."""
    return alert.replace("_", " ").replace("handover", "hand-over")


def deed(event: ev.Event, summary: Summary) -> str:
    """What is on record as done, in a few words."""
    match event:
        case ev.CylinderChanged():
            return f"changed to cylinder {event.cylinder}"
        case ev.FlowSet():
            return "flow off" if event.flow_l_min == 0 else f"flow {flow(event.flow_l_min)}"
        case ev.GaugeRead():
            return f"gauge {measure(Measure(value=event.value, unit=event.unit))}"
        case ev.DeviceFitted():
            return DEVICE_SAID[event.device]
        case ev.HandoverExpected():
            return f"hand-over expected at {summary.clock(event.handover_at_s)}"
        case ev.ProcedureMoved():
            return f"{event.procedure.replace('_', ' ')}, {event.move}"
        case ev.VitalNoted():
            point = VitalPoint(at_s=event.at_s, sign=event.sign, value=event.value)
            return f"{event.sign.replace('_', ' ')} {vital(point)}"
        case _:
            return event.kind.replace("_", " ")


def noted_in(field: str, patient: PatientSummary, summary: Summary) -> str | None:
    """What notes say of a field of the hand-over, in their own words; None where none does."""
    several = len(summary.patients) > 1
    told = []
    for note in summary.notes:
        mine = note.patient == patient.name or (note.patient is None and not several)
        first, _, rest = note.text.strip().partition(" ")
        word = first.strip(":,").lower()
        if mine and word in NOTE_FIELDS[field]:
            told.append(note.text.strip() if word != NOTE_FIELDS[field][0] or not rest else rest.strip(" :,"))
    return "; ".join(told) or None


def other_notes(summary: Summary) -> tuple[ev.NoteMade, ...]:
    """The notes that fill no field."""
    heads = {word for words in NOTE_FIELDS.values() for word in words}
    return tuple(note for note in summary.notes if note.text.strip().split(" ")[0].strip(":,").lower() not in heads)


def when(summary: Summary) -> tuple[str, str]:
    """The day and the stretch of time of the record: ("4 May 2031", "09:30–11:29")."""
    span = f"{summary.clock(0)}–{summary.clock(summary.until_s)}"
    if summary.began is None:
        return ("date not recorded", span)
    return (f"{summary.began.day} {summary.began:%B %Y}", span)


def title(summary: Summary) -> str:
    """What stands at the head of the report; of an exercise, that it is one."""
    return "DRILL, no real patient: oxygen hand-over" if summary.drill else "Oxygen hand-over"


FOOT = (
    "Made from what was said and recorded; values as spoken, times by the assistant's clock. Litres given are flow set "
    "times time. Minutes are to the reserve, rounded down. An aid: protocol and training decide."
)
