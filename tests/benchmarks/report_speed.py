"""How long the report of a two-hour incident takes, each form in a process of its own, from journal to file.

Beside them what needs none of the assistant: the events copied from the journal by sqlite3 alone, as lines of JSON.

    python tests/benchmarks/report_speed.py

Exits with 1 where a form takes two seconds of the processor or more: on a busy machine the clock tells nothing.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from rich.console import Console
from rich.table import Table

from assistant.journal import Journal
from assistant.report import FORMS, from_lines

MARSH = Path(__file__).parents[1] / "report" / "marsh_island.jsonl"
BOUND_S = 2.0
REPORT = """
import sys
from pathlib import Path
from assistant.journal import read
from assistant.report import summary_of, written
stored = read(Path(sys.argv[1]))
Path(sys.argv[2]).write_bytes(written(sys.argv[3], summary_of(stored), stored))
"""

COPY = """
import sqlite3, sys
rows = sqlite3.connect(sys.argv[1]).execute("select body from event order by number")
open(sys.argv[2], "w", encoding="utf-8").writelines(body + "\\n" for (body,) in rows)
"""


def main() -> int:
    incident = from_lines(MARSH)
    title = f"Report of {len(incident.records)} events in two hours"
    table = Table("form", "seconds (median of 3)", "of these processor", "of a bare copy's", "bytes", title=title)
    worst = 0.0
    with tempfile.TemporaryDirectory() as folder:
        journal = Journal.create(Path(folder), kit=incident.kit)
        journal.append([record.event for record in incident.records])
        journal.close()
        copied_s = 0.0
        for form, ending in {"bare copy": "lines", **FORMS}.items():
            made = Path(folder) / f"report.{ending}"
            took, busy = sorted(_timed(journal.path, made, form) for _ in range(3))[1]
            worst, copied_s = max(worst, busy), copied_s or busy
            table.add_row(form, f"{took:.2f}", f"{busy:.2f}", f"× {busy / copied_s:.1f}", str(made.stat().st_size))
    Console().print(table)
    return 0 if worst < BOUND_S else 1


def _timed(journal: Path, made: Path, form: str) -> tuple[float, float]:
    """Seconds from start to end, and the processor's, of making one form; the machine may be busy with other things."""
    before, start = os.times(), time.perf_counter()
    program = COPY if form == "bare copy" else REPORT
    subprocess.run([sys.executable, "-c", program, str(journal), str(made), form], check=True)
    took, after = time.perf_counter() - start, os.times()
    return took, after.children_user + after.children_system - before.children_user - before.children_system


if __name__ == "__main__":
    sys.exit(main())
