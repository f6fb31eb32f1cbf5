"""The tables of the report as rows of text: vital signs, oxygen over time, cylinders, alerts, notes.

Long tables are thinned to fit a page; what is left out is said, and is always in the data files.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from assistant.report import words
from assistant.report.summary import AlertSummary, PatientSummary, Summary, VitalPoint

# Vital signs noted within this time of the first stand in one row.
_ONE_ROUND_S = 90.0
# A device and then its flow are set within seconds; the moment between is no treatment of its own.
_WORTH_A_ROW_S = 30.0
# A fall of three points or more is a reason to look again: BTS guideline 2017 (Thorax 72, supplement 1).
_TELLING_CHANGE = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table of the report; `left_out` says how many rows were thinned out."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    left_out: int = 0

    @property
    def caption(self) -> str:
        """The title, with what was left out."""
        if not self.left_out:
            return self.title
        return f"{self.title} ({len(self.rows)} of {len(self.rows) + self.left_out} rows, all in the data files)"


def tables(summary: Summary, *, most_rows: int = 14) -> tuple[Table, ...]:
    """All tables that have rows, in the order of the page."""
    several = len(summary.patients) > 1
    made = [vitals_table(patient, summary, most_rows, several) for patient in summary.patients]
    made += [supply_table(patient, summary, most_rows, several) for patient in summary.patients]
    made += [cylinders_table(summary), alerts_table(summary, most_rows), notes_table(summary, most_rows)]
    return tuple(table for table in made if table.rows)


def vitals_table(patient: PatientSummary, summary: Summary, most: int, several: bool) -> Table:
    """One row for each round of vital signs."""
    rounds = _rounds(patient.vitals)
    kept = _telling(rounds, most)
    rows = tuple(_vitals_row(rounds[index], summary) for index in kept)
    title = f"Vital signs, patient {patient.name}" if several else "Vital signs"
    return Table(title=title, heads=("Time", *words.SIGN_HEADS.values()), rows=rows, left_out=len(rounds) - len(rows))


def _rounds(points: tuple[VitalPoint, ...]) -> list[dict[str, VitalPoint]]:
    """Signs noted together; a sign that comes again begins a new round."""
    rounds: list[dict[str, VitalPoint]] = []
    for point in points:
        last = rounds[-1] if rounds else {}
        begun_s = min((each.at_s for each in last.values()), default=-1e9)
        if point.sign in last or point.at_s - begun_s > _ONE_ROUND_S:
            rounds.append({})
        rounds[-1][point.sign] = point
    return rounds


def _vitals_row(signs: dict[str, VitalPoint], summary: Summary) -> tuple[str, ...]:
    first_s = min(point.at_s for point in signs.values())
    values = {sign: str(point.value) for sign, point in signs.items()}
    upper, lower = values.get("systolic"), values.get("diastolic")
    values["blood_pressure"] = f"{upper or '?'}/{lower or '?'}" if upper or lower else "–"
    return (summary.clock(first_s), *(values.get(sign, "–") for sign in words.SIGN_HEADS))


def _telling(rounds: list[dict[str, VitalPoint]], most: int) -> list[int]:
    """Which rounds to keep: the first, the last, the lowest saturation, the largest changes, then evenly spread."""
    if len(rounds) <= most:
        return list(range(len(rounds)))
    saturation = [_saturation(each) for each in rounds]
    known = [index for index, value in enumerate(saturation) if value is not None]
    kept = {0, len(rounds) - 1}
    if known:
        kept.add(min(known, key=lambda index: saturation[index] or 0))
    changes = {b: abs((saturation[b] or 0) - (saturation[a] or 0)) for a, b in pairwise(known)}
    large = sorted((b for b, by in changes.items() if by >= _TELLING_CHANGE), key=lambda b: -changes[b])
    kept.update(large[: max(0, most // 2 - len(kept))])
    for step in range(1, len(rounds)):
        if len(kept) >= most:
            break
        kept.add(round(step * (len(rounds) - 1) / most) if step <= most else step)
    return sorted(kept)[:most]


def _saturation(signs: dict[str, VitalPoint]) -> int | None:
    point = signs.get("oxygen_saturation")
    return int(point.value) if point is not None else None


def supply_table(patient: PatientSummary, summary: Summary, most: int, several: bool) -> Table:
    """One row for each time that device, flow and cylinder stayed the same."""
    rows = [
        (
            f"{summary.clock(span.begin_s)}–{summary.clock(span.end_s)}",
            words.capital(words.device(span)),
            words.flow(span.flow_l_min),
            span.cylinder or "–",
            words.litres(span.litres),
        )
        for span in patient.spans
        if span.end_s - span.begin_s >= _WORTH_A_ROW_S
    ]
    title = f"Oxygen, patient {patient.name}" if several else "Oxygen"
    return Table(
        title=title,
        heads=("Time", "Device", "Flow", "Cylinder", "Given"),
        rows=tuple(rows[-most:]),
        left_out=len(patient.spans) - len(rows[-most:]),
    )


def cylinders_table(summary: Summary) -> Table:
    """One row for each cylinder: what was read first and last, what is left, and what was used."""
    rows = []
    for cylinder in summary.cylinders:
        first = words.measure(cylinder.readings[0].measure) if cylinder.readings else "–"
        last = "–"
        if cylinder.readings:
            reading = cylinder.readings[-1]
            last = f"{words.measure(reading.measure)} at {summary.clock(reading.at_s)}"
        rows.append(
            (
                words.capital(words.cylinder(cylinder, summary).removeprefix("cylinder ")),
                first,
                last,
                words.gauge(cylinder.pressure),
                words.litres(cylinder.left_l),
                words.left(cylinder.minutes) if cylinder.patient else "set aside" if cylinder.used_l else "–",
                words.litres(cylinder.used_l),
                words.litres(cylinder.gone_l),
            )
        )
    heads = ("Cylinder", "First read", "Last read", "Now about", "Above reserve", "To reserve", "Used", "By gauge")
    return Table(title="Cylinders", heads=heads, rows=tuple(rows))


def alerts_table(summary: Summary, most: int) -> Table:
    """One row for each alert, with what is on record after it; the gravest are kept where there are too many."""
    weight = {"high": 0, "medium": 1, "low": 2}
    gravest = sorted(summary.alerts, key=lambda alert: (weight.get(alert.priority, 3), -alert.first_s))[:most]
    rows = tuple(_alert_row(alert, summary) for alert in sorted(gravest, key=lambda alert: alert.first_s))
    return Table(
        title="Alerts, and what is on record next",
        heads=("Time", "Alert", "Cyl.", "Said", "Heard", "Next on record"),
        rows=rows,
        left_out=len(summary.alerts) - len(rows),
    )


def _alert_row(alert: AlertSummary, summary: Summary) -> tuple[str, ...]:
    about = f", patient {alert.patient}" if alert.patient and len(summary.patients) > 1 else ""
    next_ = "–"
    if alert.followed_by is not None:
        next_ = f"{summary.clock(alert.followed_by.at_s)} {words.deed(alert.followed_by, summary)}"
    return (
        summary.clock(alert.first_s),
        words.capital(words.alert_name(alert.alert)) + about,
        alert.cylinder or "–",
        f"{alert.times}×",
        "no" if alert.acknowledged_s is None else summary.clock(alert.acknowledged_s),
        next_,
    )


def notes_table(summary: Summary, most: int) -> Table:
    """Notes, problems with the equipment, procedures gone through, and values taken back."""
    rows = [(note.at_s, "Note", note.text) for note in words.other_notes(summary)]
    rows += [(each.at_s, "Problem", each.what.replace("_", " ")) for each in summary.problems]
    rows += [
        (each.at_s, "Procedure", f"{each.procedure.replace('_', ' ').replace('-', ' ')} {each.move}")
        for each in summary.procedures
        if each.move in ("start", "started", "stopped", "finished", "stop")
    ]
    rows += [(at_s, "Taken back", words.deed(event, summary)) for event, at_s in summary.withdrawn]
    rows.sort(key=lambda row: row[0])
    return Table(
        title="Notes",
        heads=("Time", "What", "Words"),
        rows=tuple((summary.clock(at_s), what, said) for at_s, what, said in rows[-most:]),
        left_out=max(0, len(rows) - most),
    )
