"""How long the report of a two-hour incident takes, each form in a process of its own, from journal to file.

    python tests/benchmarks/report_speed.py

Exits with 1 where a form takes two seconds or more.
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


def main() -> int:
    incident = from_lines(MARSH)
    title = f"Report of {len(incident.records)} events in two hours"
    table = Table("form", "seconds (median of 3)", "of these processor", "bytes", title=title)
    worst = 0.0
    with tempfile.TemporaryDirectory() as folder:
        journal = Journal.create(Path(folder), kit=incident.kit)
        journal.append([record.event for record in incident.records])
        journal.close()
        for form, ending in FORMS.items():
            made = Path(folder) / f"report.{ending}"
            took, busy = sorted(_timed(journal.path, made, form) for _ in range(3))[1]
            worst = max(worst, took)
            table.add_row(form, f"{took:.2f}", f"{busy:.2f}", str(made.stat().st_size))
    Console().print(table)
    return 0 if worst < BOUND_S else 1


def _timed(journal: Path, made: Path, form: str) -> tuple[float, float]:
    """Seconds from start to end, and the processor's, of making one form; the machine may be busy with other things."""
    before, start = os.times(), time.perf_counter()
    subprocess.run([sys.executable, "-c", REPORT, str(journal), str(made), form], check=True)
    took, after = time.perf_counter() - start, os.times()
    return took, after.children_user + after.children_system - before.children_user - before.children_system


if __name__ == "__main__":
    sys.exit(main())
