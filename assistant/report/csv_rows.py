"""The incident's values as CSV, one row for each event that carries one, for a spreadsheet."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from io import StringIO

from assistant.incident import events as ev
from assistant.incident.record import Record

HEADS = ("number", "wall", "at_s", "kind", "patient", "cylinder", "name", "value", "unit", "withdrawn")
# A cell that begins with one of these is taken for a formula by spreadsheets; OWASP, "CSV Injection".
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def csv_text(records: Iterable[Record]) -> str:
    """The whole file, with a head line; lines end as RFC 4180 has it."""
    kept = tuple(records)
    gone = {number for record in kept if isinstance(record.event, ev.Withdrawn) for number in record.event.numbers}
    file = StringIO()
    writer = csv.writer(file)
    writer.writerow(HEADS)
    for record in kept:
        event = record.event
        for name, value, unit in _values(event):
            subject = (getattr(event, "patient", None) or "", getattr(event, "cylinder", None) or "")
            withdrawn = "yes" if record.number in gone else ""
            writer.writerow(
                (record.number, record.wall, event.at_s, event.kind, *subject, name, _harmless(value), unit, withdrawn)
            )
    return file.getvalue()


def _values(event: ev.Event) -> list[tuple[str, float | str, str]]:
    """(name, value, unit) of an event; none for what is only conversation."""
    match event:
        case ev.GaugeRead():
            return [("pressure", event.value, event.unit)]
        case ev.CylinderSized():
            return [("size", event.size, "")]
        case ev.CylinderChanged():
            return [("in use", event.cylinder, "")]
        case ev.FlowSet():
            return [("flow", event.flow_l_min, "L/min")]
        case ev.DeviceFitted():
            percent: list[tuple[str, float | str, str]] = []
            if event.oxygen_percent is not None:
                percent = [("oxygen", event.oxygen_percent, "%")]
            return [("device", event.device, ""), *percent]
        case ev.VitalNoted():
            unit = {"oxygen_saturation": "%", "systolic": "mmHg", "diastolic": "mmHg", "consciousness": ""}
            return [(event.sign, event.value, unit.get(event.sign, "/min"))]
        case ev.HandoverExpected():
            return [("hand-over at", event.handover_at_s, "s")]
        case ev.TargetSet():
            return [("target low", event.low, "%"), ("target high", event.high, "%")]
        case ev.AltitudeNoted():
            return [("altitude", event.metres, "m")]
        case ev.TemperatureNoted():
            return [("temperature", event.celsius, "°C")]
        case ev.NoteMade():
            return [("note", event.text, "")]
        case ev.ProblemReported():
            return [("problem", event.what, "")]
        case ev.ProcedureMoved():
            return [(f"{event.procedure}: {event.move}", event.step or "", "")]
        case ev.AlertRaised():
            return [(f"alert, {event.priority}", event.alert, "")]
        case ev.AlertAcknowledged():
            return [("alert acknowledged", event.alert, "")]
        case _:
            return []


def _harmless(value: float | str) -> float | str:
    return f"'{value}" if isinstance(value, str) and value.startswith(_FORMULA) else value
