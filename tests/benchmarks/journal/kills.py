"""Kills the writer of a journal at random moments under load, and cuts its log at random places, and counts losses.

    python tests/benchmarks/journal/kills.py [--kills 300] [--cuts 300] [--seed 1]

Each round starts or resumes an incident in a process of its own, which appends in batches, tells each number over a
pipe once `append` has returned, and reads the file from a second thread meanwhile; after a random while it gets
SIGKILL. A cut is what a power cut leaves: the files with the log ending at any byte after what was synchronised.
Prints a table; exits with 1 if anything acknowledged is missing, is there twice, or a file is not sound.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from contextlib import closing
from pathlib import Path

from rich.console import Console
from rich.table import Table

from assistant.incident import events as ev
from assistant.journal import Journal, incidents, open_incidents, read

ROUNDS_OF_ONE_INCIDENT = 10


def write_under_load(folder: Path, seed: int) -> None:
    """The child: resumes the open incident or begins one, then appends until it is killed."""
    chance = random.Random(seed)
    offered = open_incidents(folder)
    journal = Journal.open(offered[0].path) if offered else Journal.create(folder)
    os.write(1, f"file {journal.path}\n".encode())
    threading.Thread(target=read_all_the_while, args=(journal.path,), daemon=True).start()
    value = len(journal.events())
    while True:
        batch = [said(value + n, chance.randrange(1, 4000)) for n in range(chance.randrange(1, 5))]
        numbers = journal.append(batch)
        assert journal.trouble is None, journal.trouble
        value += len(batch)
        os.write(1, f"acknowledged {' '.join(map(str, numbers))}\n".encode())


def read_all_the_while(path: Path) -> None:
    """A report made during the incident must not be in the way."""
    while True:
        read(path)


def said(value: int, length: int) -> ev.NoteMade:
    """The event with this value; the number it must get is one higher."""
    return ev.NoteMade(at_s=float(value), text=f"{value} " + "x" * length)


def killed_once(folder: Path, seed: int, wait_s: float, *, early: bool) -> tuple[Path | None, list[int]]:
    """The file that the child wrote to and the numbers that it acknowledged before it was killed."""
    child = subprocess.Popen(
        [sys.executable, __file__, "--write-to", str(folder), "--seed", str(seed)], stdout=subprocess.PIPE
    )
    assert child.stdout is not None
    # Most are killed in the midst of appending, some while they start or resume; how long that takes depends on the
    # machine, so the wait begins when the child says that it has opened its file.
    begun = b"" if early else child.stdout.readline()
    time.sleep(wait_s)
    child.send_signal(signal.SIGKILL)
    # A last line without its end was not acknowledged.
    lines = (begun + child.stdout.read()).decode().split("\n")[:-1]
    assert child.wait() == -signal.SIGKILL, "the child ended by itself; see its message above"
    child.stdout.close()
    path = Path(lines[0].split(maxsplit=1)[1]) if lines else None
    return path, [int(number) for line in lines[1:] for number in line.split()[1:]]


def faults(path: Path, acknowledged: set[int]) -> Counter[str]:
    """What is wrong with the file: nothing, it is hoped."""
    found: Counter[str] = Counter()
    with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as connection:
        found["unsound"] += connection.execute("PRAGMA integrity_check").fetchall() != [("ok",)]
    values = [int(record.event.text.split()[0]) for record in read(path).records if record.event.kind == "note_made"]
    numbers = Counter(value + 1 for value in values)
    found["missing"] += sum(1 for number in acknowledged if number not in numbers)
    found["twice"] += sum(1 for times in numbers.values() if times > 1)
    found["out of order"] += values != list(range(len(values)))
    return found


def kill_rounds(kills: int, seed: int, folder: Path) -> tuple[Counter[str], Counter[str]]:
    """What was done and what went wrong over so many kills."""
    chance = random.Random(seed)
    done, wrong = Counter[str](), Counter[str]()
    acknowledged: dict[Path, set[int]] = {}
    for round_ in range(kills):
        early, wait_s = chance.random() < 0.15, chance.uniform(0.0, 0.5)
        path, numbers = killed_once(folder, seed * 100_000 + round_, wait_s, early=early)
        done["kills"] += 1
        done["kills before the first append"] += not numbers
        done["values acknowledged"] += len(numbers)
        if path is not None:
            acknowledged.setdefault(path, set()).update(numbers)
            wrong += faults(path, acknowledged[path])
        if round_ % ROUNDS_OF_ONE_INCIDENT == ROUNDS_OF_ONE_INCIDENT - 1:
            finish_what_is_open(folder)
    for path, numbers_of_it in acknowledged.items():
        wrong += faults(path, numbers_of_it)
    wrong["unreadable"] += sum(1 for each in incidents(folder) if each.trouble)
    done["incidents"] = len(acknowledged)
    return done, wrong


def finish_what_is_open(folder: Path) -> None:
    for each in open_incidents(folder):
        Journal.open(each.path).finish(each.last_at_s)


def cut_rounds(cuts: int, seed: int, folder: Path) -> tuple[Counter[str], Counter[str]]:
    """The same for power cuts: the log ends at any byte at or after what was synchronised when `append` returned."""
    chance = random.Random(seed)
    journal = Journal.create(folder / "whole")
    log = journal.path.with_name(journal.path.name + "-wal")
    synchronised = []
    for value in range(120):
        journal.append([said(value, chance.randrange(1, 4000))])
        synchronised.append((log.stat().st_size, value + 1))
    done, wrong = Counter[str](), Counter[str]()
    for round_ in range(cuts):
        there = folder / f"cut-{round_}"
        there.mkdir()
        at = chance.randrange(synchronised[0][0], synchronised[-1][0] + 1)
        if round_ % 4 == 0:  # and now and then between two records, where there is nothing to say
            at, _ = chance.choice(synchronised)
        shutil.copy(journal.path, there)
        (there / log.name).write_bytes(log.read_bytes()[:at])
        acknowledged = {number for size, number in synchronised if size <= at}
        wrong += faults(there / journal.path.name, acknowledged)
        resumed = Journal.open(there / journal.path.name)
        done["cuts"] += 1
        done["cuts in the middle of a record, and said so"] += bool(resumed.notices)
        wrong["not said"] += bool(resumed.notices) == any(size == at for size, _ in synchronised)
        wrong["lost on resuming"] += len(acknowledged - {number for number, _ in resumed.events()})
        resumed.append([said(len(resumed.events()), 10)])
        resumed.close()
        wrong += faults(there / journal.path.name, acknowledged)
        shutil.rmtree(there)
    journal.close()
    return done, wrong


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--kills", type=int, default=300)
    parser.add_argument("--cuts", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--write-to", type=Path, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.write_to:
        write_under_load(asked.write_to, asked.seed)
    with tempfile.TemporaryDirectory() as folder:
        done, wrong = kill_rounds(asked.kills, asked.seed, Path(folder) / "kills")
        cut, cut_wrong = cut_rounds(asked.cuts, asked.seed, Path(folder))
    table = Table("what", "count", title=f"A journal killed and cut (seed {asked.seed})")
    for name, count in [*done.items(), *cut.items()]:
        table.add_row(name, str(count))
    names = ("missing", "twice", "out of order", "unsound", "unreadable", "not said", "lost on resuming")
    for name in names:
        table.add_row(f"FAULT: {name}", str(wrong[name] + cut_wrong[name]))
    Console().print(table)
    return 1 if sum(wrong.values()) + sum(cut_wrong.values()) else 0


if __name__ == "__main__":
    sys.exit(main())
