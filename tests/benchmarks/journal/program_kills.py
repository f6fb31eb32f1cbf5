"""Kills the whole program at random moments, in `chat` (which goes on with the incident) and in `replay`.

    python tests/benchmarks/journal/program_kills.py [--kills 60] [--seed 1]

Each round starts the program in a process of its own, gives it numbered notes as fast as it takes them, and counts as
acknowledged what it read back on standard output; then it gets SIGKILL. Everything acknowledged must be in the record,
once. Prints a table; exits with 1 otherwise.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import re
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from pathlib import Path

from rich.console import Console
from rich.table import Table

from assistant.journal import incidents, read

ROOT = Path(__file__).resolve().parents[3]
READ_BACK = re.compile(r"Noted: entry (\d+)\.")


def lines(command: str, first: int) -> bytes:
    """What is typed: notes with rising numbers; for `replay` as its JSON lines."""
    texts = [f"note entry {number}" for number in range(first, first + 400)]
    if command == "chat":
        return "".join(f"{text}\n" for text in texts).encode()
    return "".join(json.dumps({"at_s": n, "text": text}) + "\n" for n, text in enumerate(texts)).encode()


def killed_once(command: str, folder: Path, first: int, wait_s: float) -> tuple[list[int], bool]:
    """The numbers read back before the kill, and whether the program said that it went on with an incident."""
    arguments = ["chat"] if command == "chat" else ["replay", "-", "--json"]
    program = subprocess.Popen(
        [sys.executable, "-m", "assistant", *arguments, "--record", str(folder)],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "COLUMNS": "200", "PYTHONUNBUFFERED": "1"},
    )
    assert program.stdin is not None
    assert program.stdout is not None
    said: list[bytes] = []
    begun = threading.Event()
    reader = threading.Thread(target=_keep_reading, args=(program.stdout, said, begun))
    writer = threading.Thread(target=_type, args=(program.stdin, lines(command, first)))
    reader.start()
    writer.start()
    assert begun.wait(60), "the program read nothing back within a minute"
    time.sleep(wait_s)
    program.send_signal(signal.SIGKILL)
    reader.join()
    writer.join()
    assert program.wait() in (-signal.SIGKILL, 0)
    text = b"".join(said).decode()
    whole = text[: text.rfind("\n") + 1]
    return [int(number) for number in READ_BACK.findall(whole)], "Going on with the incident" in whole


def _keep_reading(stream: object, said: list[bytes], begun: threading.Event) -> None:
    while line := stream.readline():  # type: ignore[attr-defined]
        said.append(line)
        if b"Noted" in line:
            begun.set()


def _type(stream: object, typed: bytes) -> None:
    try:
        stream.write(typed)  # type: ignore[attr-defined]
        stream.close()  # type: ignore[attr-defined]
    except BrokenPipeError:  # killed meanwhile
        pass


def entries(folder: Path) -> Counter[int]:
    """How often each numbered note is on record, over all files of the folder."""
    found: Counter[int] = Counter()
    for each in incidents(folder):
        assert each.trouble is None, each.trouble
        events = [record.event for record in read(each.path).records]
        found.update(int(e.text.split()[1]) for e in events if e.kind == "note_made")
    return found


def rounds(command: str, kills: int, seed: int, folder: Path) -> Counter[str]:
    """What was done and what went wrong over so many kills."""
    chance, counts = random.Random(seed), Counter[str]()
    acknowledged: list[int] = []
    for round_ in range(kills):
        numbers, went_on = killed_once(command, folder, round_ * 1000, chance.uniform(0.0, 0.4))
        acknowledged += numbers
        counts["kills"] += 1
        counts["went on with the incident"] += went_on
    on_record = entries(folder)
    counts["read back"] = len(acknowledged)
    counts["FAULT: missing"] = sum(1 for number in acknowledged if number not in on_record)
    counts["FAULT: twice"] = sum(1 for times in on_record.values() if times > 1)
    wanted = kills - 1 if command == "chat" else 0
    counts["FAULT: not gone on with"] = wanted - counts["went on with the incident"]
    return counts


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--kills", type=int, default=60, help="of each command")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        counts = {c: rounds(c, asked.kills, asked.seed, Path(folder) / c) for c in ("chat", "replay")}
    table = Table("what", *counts, title=f"The whole program killed (seed {asked.seed})")
    for name in counts["chat"]:
        table.add_row(name, *(str(each[name]) for each in counts.values()))
    Console().print(table)
    return 1 if any(count for each in counts.values() for name, count in each.items() if "FAULT" in name) else 0


if __name__ == "__main__":
    sys.exit(main())
