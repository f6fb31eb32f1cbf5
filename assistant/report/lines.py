"""An incident as JSON lines: out whole, and in again; refuses lines that are none, naming the line.

The first line tells when it began and the kit; every other line is one event with its number and wall time:

    {"type": "incident", "version": 1, "began": "2031-05-04T09:30:00.000+00:00", "kit": "reserve = …"}
    {"number": 1, "wall": "…", "kind": "flow_set", "at_s": 4.0, "patient": "1", "flow_l_min": 15.0}
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from assistant.incident.events import Event
from assistant.incident.events_json import EventError, event_from_json, event_to_json
from assistant.incident.record import Record

VERSION = 1


class LinesError(ValueError):
    """The lines are no incident; the text names the line and why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class IncidentLines:
    """An incident that came as lines. `notices` says what was dropped: a last line that was cut off."""

    began: str
    kit: str
    records: tuple[Record, ...]
    notices: tuple[str, ...] = ()

    @property
    def events(self) -> tuple[tuple[int, Event], ...]:
        """The events with their numbers."""
        return tuple((record.number, record.event) for record in self.records)


def incident_lines(records: Iterable[Record], *, began: str, kit: str) -> Iterator[str]:
    """The lines of an incident, without line ends."""
    yield _line({"type": "incident", "version": VERSION, "began": began, "kit": kit})
    for record in records:
        yield _line({"number": record.number, "wall": record.wall, **event_to_json(record.event)})


def _line(value: dict[str, Any]) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(", ", ": "))


def incident_from_lines(text: str, *, source: str = "the file") -> IncidentLines:
    """The incident that the lines tell; raises LinesError. A last line that was cut off is dropped and said so."""
    lines = text.split("\n")
    cut_off = lines.pop()  # what stands after the last line end: nothing, or a line that was cut off
    values = [_value(line, source, number) for number, line in enumerate(lines, start=1)]
    notices: tuple[str, ...] = ()
    if cut_off.strip():
        try:
            values.append(_value(cut_off, source, len(lines) + 1))
        except LinesError:
            notices = (f"{source}: line {len(lines) + 1}, the last, was cut off and dropped",)
    if not values:
        raise LinesError(f"{source}: there is no incident in it")
    began, kit = _head(values[0], source)
    records: list[Record] = []
    for number, value in enumerate(values[1:], start=2):
        records.append(_record(value, f"{source}, line {number}", len(records) + 1))
    return IncidentLines(began=began, kit=kit, records=tuple(records), notices=notices)


def _value(line: str, source: str, number: int) -> Any:
    try:
        return json.loads(line)
    except (ValueError, RecursionError) as error:  # no JSON, or a number with thousands of figures
        raise LinesError(f"{source}, line {number}: this is no JSON ({error})") from error


def _head(value: Any, source: str) -> tuple[str, str]:
    if not isinstance(value, dict) or value.get("type") != "incident":
        raise LinesError(f'{source}, line 1: an incident begins with {{"type": "incident", …}}')
    if value.get("version") != VERSION:
        raise LinesError(f"{source}, line 1: version {value.get('version')!r}; this one reads version {VERSION}")
    began, kit = value.get("began", ""), value.get("kit", "")
    if not isinstance(began, str) or not isinstance(kit, str) or not _is_moment(began):
        raise LinesError(f"{source}, line 1: began is a time such as 2031-05-04T09:30:00+00:00, kit is a text")
    return began, kit


def _is_moment(began: str) -> bool:
    try:
        return not began or datetime.fromisoformat(began).tzinfo is not None
    except ValueError:
        return False


def _record(value: Any, where: str, number: int) -> Record:
    try:
        event = event_from_json(value)
    except EventError as error:
        raise LinesError(f"{where}: {error}") from error
    if value.get("number", number) != number:
        raise LinesError(f"{where}: number {value['number']!r} where {number} comes next")
    wall = value.get("wall", "")
    return Record(number=number, wall=wall if isinstance(wall, str) else "", event=event)
