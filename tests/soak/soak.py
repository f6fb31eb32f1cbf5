"""Eight hours of one incident at speed, typed and spoken, with the process killed again and again; counts what is lost.

Usage: python tests/soak/soak.py [--hours 8] [--kills 24] [--seed 1] [--chart docs/soak.svg]. The kills fall in the
first half; in the second the process is left alone, to see what its memory does. Exit status 1 where anything that was
recorded is missing, changed, or there twice, or where the record does not fold to the state that was held.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from argparse import ArgumentParser
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

from assistant.app import kit_from
from assistant.incident.events_json import event_to_text
from assistant.incident.log import Incident
from assistant.journal import read
from tests.soak.long_day import long_day, recordings

ROOT = Path(__file__).resolve().parents[2]
SITTER = Path(__file__).with_name("sitter.py")


@dataclass(slots=True, kw_only=True)
class Course:
    """What was recorded and measured: `recorded` text by number, as it was acknowledged; points are (hour, figure)."""

    recorded: dict[int, str] = field(default_factory=dict)
    kills: list[float] = field(default_factory=list)
    memory_mb: list[tuple[float, float]] = field(default_factory=list)
    took_ms: list[tuple[float, float]] = field(default_factory=list)
    lines: int = 0
    unanswered: int = 0
    resumed_with_fewer: int = 0
    file: Path = Path()
    state: str = ""


class Sitter:
    """The process, and its pipe."""

    def __init__(self, folder: Path) -> None:
        self._child = subprocess.Popen(
            [sys.executable, str(SITTER), str(folder)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        self.began = self._answer()

    def take(self, line: dict[str, object]) -> dict[str, Any]:
        self._send(line)
        return self._answer()

    def killed_over(self, line: dict[str, object]) -> None:
        """The line is on its way when the process is killed: what came of it nobody knows."""
        self._send(line)
        self._child.kill()
        self._child.communicate()

    def ended(self) -> str:
        assert self._child.stdin is not None
        self._child.stdin.close()
        state: str = self._answer()["state"]
        assert self._child.wait() == 0
        return state

    def _send(self, line: dict[str, object]) -> None:
        assert self._child.stdin is not None
        self._child.stdin.write(json.dumps(line) + "\n")
        self._child.stdin.flush()

    def _answer(self) -> dict[str, Any]:
        assert self._child.stdout is not None
        text = self._child.stdout.readline()
        assert text, f"the process ended by itself with {self._child.wait()}"
        answer: dict[str, Any] = json.loads(text)
        return answer


def soaked(hours: float, kills: int, seed: int, folder: Path) -> Course:
    """The whole day."""
    course, chance = Course(), Random(seed)
    lines = list(long_day(seed, hours, recordings(ROOT / "audio_samples")))
    doomed = set(chance.sample(range(10, len(lines) // 2), kills))
    sitter = Sitter(folder)
    course.file = Path(sitter.began["file"])
    for number, line in enumerate(lines):
        course.lines += 1
        if number in doomed:
            sitter.killed_over(line)
            course.kills.append(line["at_s"] / 3600)  # type: ignore[operator]
            course.unanswered += 1
            sitter = Sitter(folder)
            course.resumed_with_fewer += sitter.began["events"] < max(course.recorded, default=0)
            continue
        _noted(course, line["at_s"] / 3600, sitter.take(line))  # type: ignore[operator]
    course.state = sitter.ended()
    return course


def _noted(course: Course, hour: float, answer: dict[str, Any]) -> None:
    for number, text in answer["events"]:
        assert number not in course.recorded, f"event {number} was recorded twice"
        course.recorded[number] = text
    course.memory_mb.append((hour, answer["rss_mb"]))
    course.took_ms.append((hour, answer["ms"]))


def faults(course: Course) -> dict[str, int]:
    """What is wrong with the record in the end."""
    stored = read(course.file)
    there = {record.number: event_to_text(record.event) for record in stored.records}
    folded = Incident(kit_from(None), [record.event for record in stored.records])
    return {
        "missing": sum(number not in there for number in course.recorded),
        "changed": sum(there.get(number, text) != text for number, text in course.recorded.items()),
        "gaps in the numbers": sum(one + 1 != two for one, two in zip(sorted(there), sorted(there)[1:], strict=False)),
        "resumed with fewer": course.resumed_with_fewer,
        "folds to another state": int(repr(folded.state) != course.state),
        "not finished": int(not stored.finished),
    }


def growth_mb_per_hour(course: Course) -> float:
    """The slope of the memory over the last quarter of the day, by least squares."""
    import numpy as np

    last = max(hour for hour, _ in course.memory_mb)
    points = [(hour, mb) for hour, mb in course.memory_mb if hour > 0.75 * last]
    return float(np.polyfit([hour for hour, _ in points], [mb for _, mb in points], 1)[0])


def drawn(course: Course, path: Path) -> None:
    """The chart: memory over the day, with the kills."""
    import matplotlib as mpl

    mpl.use("svg")
    mpl.rcParams.update({"svg.hashsalt": "soak", "svg.fonttype": "none"})
    from matplotlib import pyplot as plt

    figure, (memory, time) = plt.subplots(2, 1, figsize=(9, 5), sharex=True, layout="constrained")
    memory.plot(*zip(*course.memory_mb, strict=True), linewidth=1)
    for hour in course.kills:
        memory.axvline(hour, color="tab:red", linewidth=0.6)
    memory.set(ylabel="resident memory, MB", ylim=(0, None), title="One long incident; red: the process is killed")
    time.plot(*zip(*course.took_ms, strict=True), ".", markersize=2)
    time.set(xlabel="hours of the incident", ylabel="a line, ms of processor")
    figure.savefig(path, metadata={"Date": None})


def main() -> int:
    """The totals and the chart."""
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=float, default=8.0)
    parser.add_argument("--kills", type=int, default=24)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--chart", type=Path)
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        course = soaked(args.hours, args.kills, args.seed, Path(folder))
        wrong = faults(course)
    if args.chart:
        drawn(course, args.chart)
    times = sorted(ms for _, ms in course.took_ms)
    memory = [mb for _, mb in course.memory_mb]
    counts = f"{course.lines} lines, {len(course.recorded)} events acknowledged, {len(course.kills)} kills"
    print(f"{args.hours:g} hours, {counts}")
    print(f"memory {memory[0]:.0f} MB at first, {max(memory):.0f} MB at most, {memory[-1]:.0f} MB at the end;", end=" ")
    print(f"last quarter {growth_mb_per_hour(course):+.2f} MB an hour")
    print(f"a line: median {times[len(times) // 2]:.1f} ms, 99th percentile {times[len(times) * 99 // 100]:.0f} ms")
    print("faults: " + ", ".join(f"{name} {count}" for name, count in wrong.items()))
    return 1 if any(wrong.values()) else 0


if __name__ == "__main__":
    sys.exit(main())
