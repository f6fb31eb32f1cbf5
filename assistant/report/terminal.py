"""The hand-over for a terminal: the sections, a small chart of saturation, and the tables, drawn by rich."""

from __future__ import annotations

from rich.console import Group, RenderableType
from rich.table import Table as RichTable
from rich.text import Text

from assistant.report import words
from assistant.report.sections import Section, sections
from assistant.report.summary import PatientSummary, Summary
from assistant.report.tables import Table, tables

_BARS = "▁▂▃▄▅▆▇█"


def terminal(summary: Summary, order: words.Order = "ATMIST") -> RenderableType:
    """Something that a rich Console prints; words of the record are never taken for rich's markup."""
    day, span = words.when(summary)
    parts: list[RenderableType] = [Text(f"{words.title(summary)} ({order})   {day} {span}", style="bold")]
    parts.append(_sections(sections(summary, order)))
    parts += [_sparks(patient, summary) for patient in summary.patients if len(patient.of("oxygen_saturation")) > 1]
    parts += [_table(table) for table in tables(summary)]
    parts.append(Text(words.FOOT, style="dim"))
    return Group(*parts)


def _sections(made: tuple[Section, ...]) -> RichTable:
    grid = RichTable.grid(padding=(0, 1))
    grid.add_column(style="bold")
    grid.add_column(style="bold", no_wrap=True)
    grid.add_column()
    for section in made:
        grid.add_row(section.letter, section.title, Text("\n".join(section.lines)))
    return grid


def _sparks(patient: PatientSummary, summary: Summary) -> Text:
    """Saturation as a row of bars, one for each value noted, from the lowest to 100."""
    points = patient.of("oxygen_saturation")
    values = [int(point.value) for point in points]
    lowest = min(values)
    steps = len(_BARS) - 1
    bars = "".join(_BARS[round((value - lowest) / max(1, 100 - lowest) * steps)] for value in values)
    whose = f"patient {patient.name}: " if len(summary.patients) > 1 else ""
    first, last = summary.clock(points[0].at_s), summary.clock(points[-1].at_s)
    return Text(f"Saturation {whose}{first} {values[0]} % {bars} {values[-1]} % {last} (lowest bar {lowest} %)")


def _table(table: Table) -> RichTable:
    drawn = RichTable(title=table.caption, title_justify="left", box=None, header_style="bold", padding=(0, 1, 0, 0))
    for head in table.heads:
        drawn.add_column(head)
    for row in table.rows:
        drawn.add_row(*(Text(cell) for cell in row))
    return drawn
