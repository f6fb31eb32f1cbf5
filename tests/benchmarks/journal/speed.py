"""How fast a journal opens and appends, beside a bare SQLite insert on the same disk with the same settings.

    python tests/benchmarks/journal/speed.py [--events 100000] [--appends 2000]

Writes nothing but temporary files. Exits with 1 where a bound is not held.
"""

from __future__ import annotations

import argparse
import json
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from rich.console import Console
from rich.table import Table

from assistant.incident import events as ev
from assistant.incident.events_json import event_to_json
from assistant.journal import Journal

OPEN_BOUND_S = 1.0
APPEND_BOUND_MS = 10.0


def events(count: int) -> list[ev.Event]:
    """A long incident: an utterance with its hypotheses, then what was taken from it."""
    made: list[ev.Event] = []
    for n in range(0, count, 4):
        at_s = n * 0.9
        psi = 2200 - n % 2000
        made += [
            ev.UtteranceHeard(
                at_s=at_s,
                heard=f"gauge reads {psi} small cylinder saturation ninety four",
                hypotheses=(("gauge reads sixteen hundred", -1.25), ("gauge reads sixty hundred", -3.5)),
                outcome="taken",
                meanings=({"kind": "gauge_reading", "cylinder": "1", "pressure": {"value": psi, "unit": "psi"}},),
                reply=f"{psi} P S I on the small cylinder. Saturation nine four.",
            ),
            ev.GaugeRead(at_s=at_s, cylinder="1", value=float(psi), unit="psi", pressure_bar=psi * 0.0689475729),
            ev.VitalNoted(at_s=at_s, patient="1", sign="oxygen_saturation", value=94),
            ev.FlowSet(at_s=at_s, patient="1", flow_l_min=8.0),
        ]
    return made[:count]


def timed_ms(work: Callable[[ev.Event], object], appended: list[ev.Event]) -> list[float]:
    """The sorted milliseconds that `work` takes for each event."""
    taken = []
    for event in appended:
        start = time.perf_counter()
        work(event)
        taken.append((time.perf_counter() - start) * 1000)
    return sorted(taken)


def bare_insert(folder: Path) -> Callable[[ev.Event], object]:
    """One SQLite insert of the same text, committed and synchronised, with nothing of ours around it."""
    connection = sqlite3.connect(folder / "bare.sqlite", isolation_level=None)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("CREATE TABLE event (number INTEGER PRIMARY KEY, body TEXT)")

    def insert(event: ev.Event) -> None:
        connection.execute("INSERT INTO event (body) VALUES (?)", (json.dumps(event_to_json(event)),))

    return insert


def at(sorted_ms: list[float], share: float) -> float:
    """The value that `share` of the sorted values do not exceed."""
    return sorted_ms[min(len(sorted_ms) - 1, int(share * len(sorted_ms)))]


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--events", type=int, default=100_000)
    parser.add_argument("--appends", type=int, default=2_000)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        stored = events(asked.events)
        journal = Journal.create(Path(folder))
        journal.append(stored)
        journal.close()
        opened_s, busy_s = [], []
        for _ in range(3):
            start, busy = time.perf_counter(), time.process_time()
            opened = Journal.open(journal.path)
            opened_s.append(time.perf_counter() - start)
            busy_s.append(time.process_time() - busy)
            assert len(opened.records()) == asked.events
            opened.close()
            del opened  # what the last one leaves behind is not this one's time
        journal = Journal.open(journal.path)
        ours = timed_ms(lambda event: journal.append([event]), stored[: asked.appends])
        assert journal.trouble is None
        journal.close()
        megabytes = journal.path.stat().st_size / 1e6
        bare = timed_ms(bare_insert(Path(folder)), stored[: asked.appends])
    table = Table(title=f"A journal of {asked.events} events ({megabytes:.1f} MB), {asked.appends} appends with fsync")
    for column in ("what", "median", "99th percentile", "bound"):
        table.add_column(column)
    table.add_row("open, every record checked (s, of 3)", f"{sorted(opened_s)[1]:.2f}", "-", f"{OPEN_BOUND_S}")
    table.add_row("the processor's part of it (s)", f"{sorted(busy_s)[1]:.2f}", "-", "-")
    table.add_row("append one event (ms)", f"{at(ours, 0.5):.2f}", f"{at(ours, 0.99):.2f}", f"{APPEND_BOUND_MS}")
    table.add_row("bare SQLite insert (ms)", f"{at(bare, 0.5):.2f}", f"{at(bare, 0.99):.2f}", "-")
    table.add_row("ratio", f"{at(ours, 0.5) / at(bare, 0.5):.2f}", f"{at(ours, 0.99) / at(bare, 0.99):.2f}", "-")
    Console().print(table)
    return 0 if sorted(opened_s)[1] < OPEN_BOUND_S and at(ours, 0.99) < APPEND_BOUND_MS else 1


if __name__ == "__main__":
    sys.exit(main())
