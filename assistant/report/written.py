"""The door of this room: an incident in, its hand-over out in any form.

Takes what a journal holds, or an incident that came as JSON lines; gives bytes to write to a file or to print.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime, tzinfo
from io import StringIO
from pathlib import Path
from typing import Protocol

from assistant.incident.record import Record
from assistant.oxygen.kit import Kit, KitError, default_kit
from assistant.report.lines import IncidentLines, LinesError, incident_from_lines, incident_lines
from assistant.report.summary import Summary, summarised
from assistant.report.words import Order

ORDERS: tuple[Order, ...] = ("ATMIST", "SBAR")
# Each form with the ending of its file.
FORMS = {
    "terminal": "txt",
    "spoken": "txt",
    "radio": "txt",
    "markdown": "md",
    "html": "html",
    "pdf": "pdf",
    "fhir": "json",
    "csv": "csv",
    "jsonl": "jsonl",
}


class Source(Protocol):
    """An incident on record: `began` ISO wall time ("" where not known), the kit's TOML ("" for the default kit)."""

    @property
    def began(self) -> str: ...
    @property
    def kit(self) -> str: ...
    @property
    def records(self) -> tuple[Record, ...]: ...
    @property
    def notices(self) -> tuple[str, ...]: ...


class ReportError(ValueError):
    """The incident cannot be read, or its kit; the text is one line for the user."""


def from_lines(path: Path) -> IncidentLines:
    """The incident in a file of JSON lines. Raises ReportError."""
    try:
        return incident_from_lines(path.read_text(encoding="utf-8"), source=str(path))
    except OSError as error:
        raise ReportError(f"{path}: cannot be read ({error.strerror})") from error
    except UnicodeDecodeError as error:
        raise ReportError(f"{path}: is not a text file") from error
    except LinesError as error:
        raise ReportError(str(error)) from error


def summary_of(
    source: Source, *, kit: Kit | None = None, zone: tzinfo | None = None, until_s: float | None = None
) -> Summary:
    """The summary; `kit` overrules the one on record, `zone` is that of the times shown (None: where it happened)."""
    began = datetime.fromisoformat(source.began) if source.began else None
    return summarised(
        [(record.number, record.event) for record in source.records],
        kit or kit_of(source),
        until_s=until_s,
        began=began.astimezone(zone) if began and zone else began,
    )


def kit_of(source: Source) -> Kit:
    """The kit on record, or the default one. Raises ReportError."""
    if not source.kit:
        return default_kit()
    try:
        return Kit.from_toml(source.kit, source="the kit on record")
    except KitError as error:
        raise ReportError(str(error)) from error


def written(form: str, summary: Summary, source: Source, order: Order = "ATMIST") -> bytes:
    """The hand-over in one of `FORMS`, as a file holds it."""
    if form == "pdf":
        from assistant.report.pdf import pdf

        return pdf(summary, order)
    return _text(form, summary, source, order).encode()


def _text(form: str, summary: Summary, source: Source, order: Order) -> str:
    if form == "jsonl":
        return _lines(source.records, source)
    if form == "csv":
        from assistant.report.csv_rows import csv_text

        return csv_text(source.records)
    if form == "fhir":
        from assistant.report.fhir import fhir_bundle

        return json.dumps(fhir_bundle(summary), ensure_ascii=False, indent=1) + "\n"
    return _words(form, summary, order)


def _words(form: str, summary: Summary, order: Order) -> str:
    if form == "spoken":
        from assistant.report.spoken import spoken

        return spoken(summary, order) + "\n"
    if form == "radio":
        from assistant.report.radio import radio_groups

        return "".join(f"{group.text()}\n" for group in radio_groups(summary))
    if form == "markdown":
        from assistant.report.markdown import markdown

        return markdown(summary, order)
    if form == "html":
        from assistant.report.html import html

        return html(summary, order)
    if form == "terminal":
        return _printed(summary, order)
    raise ReportError(f"there is no form called {form!r}; there are {', '.join(FORMS)}")


def _lines(records: Sequence[Record], source: Source) -> str:
    return "".join(f"{line}\n" for line in incident_lines(records, began=source.began, kit=source.kit))


def _printed(summary: Summary, order: Order) -> str:
    from rich.console import Console

    from assistant.report.terminal import terminal

    file = StringIO()
    Console(file=file, width=100, force_terminal=False).print(terminal(summary, order))
    return file.getvalue()
