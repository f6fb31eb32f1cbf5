"""The score sheet of a drill on a terminal: a table by time, with signs and words beside the colours."""

from __future__ import annotations

from typing import Any

from rich.console import Console, Group
from rich.table import Table
from rich.text import Text

from assistant.incident.drill_score import ScoreLine, ScoreSheet
from assistant.screens.transcript import clock_text


def show_sheet(sheet: ScoreSheet, console: Console) -> None:
    """Prints the sheet."""
    console.print(Group(_table(sheet), _sum(sheet)))


def sheet_json(sheet: ScoreSheet) -> dict[str, Any]:
    """The sheet for other programs: one object, its lines in order of time; `seconds` is null for what was missed."""
    return {
        "type": "score",
        "seed": sheet.seed,
        "good": sheet.good,
        "missed": sheet.missed,
        "of": len(sheet.lines),
        "ended_at_s": round(sheet.ended_at_s, 3),
        "lines": [
            {
                "what": line.what,
                "at_s": round(line.arose_at_s, 3),
                "seconds": None if line.seconds is None else round(line.seconds, 3),
                "within_s": line.within_s,
                "good": line.good,
                "remark": line.remark,
            }
            for line in sheet.lines
        ],
    }


def _table(sheet: ScoreSheet) -> Table:
    table = Table(title=f"Drill {sheet.seed}: score sheet", title_justify="left", highlight=False)
    table.add_column("at", justify="right")
    table.add_column("task", no_wrap=True)
    table.add_column("took", justify="right")
    table.add_column("allowed", justify="right")
    table.add_column("result", no_wrap=True)
    table.add_column("remark")
    for line in sheet.lines:
        table.add_row(clock_text(line.arose_at_s), line.what, _took(line), _allowed(line), _result(line), line.remark)
    return table


def _took(line: ScoreLine) -> str:
    if line.seconds is None:
        return "-"
    return f"{-line.seconds:.0f} s early" if line.seconds < 0 else f"{line.seconds:.0f} s"


def _allowed(line: ScoreLine) -> str:
    return f"{line.within_s:.0f} s" if line.within_s else "by then"


def _result(line: ScoreLine) -> Text:
    if line.good:
        return Text("+ in time", style="green")
    if line.done_at_s is None:
        return Text("x missed", style="bold red")
    return Text("! late", style="yellow")


def _sum(sheet: ScoreSheet) -> Text:
    late = len(sheet.lines) - sheet.good - sheet.missed
    text = f"{sheet.good} of {len(sheet.lines)} in time, {late} late, {sheet.missed} missed; "
    return Text(f"{text}played {clock_text(sheet.ended_at_s)}. No gas was used.")
