"""The process that is killed: a session with a journal and ears, fed lines on standard input, telling what it recorded.

Usage: python tests/soak/sitter.py FOLDER. It goes on with the open incident of the folder, or begins one. It answers
each line, once what came of it is on the disk, with the events' numbers and texts, its memory and the time it took.
"""

from __future__ import annotations

import gc
import json
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from time import process_time
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

import numpy as np

from assistant.app import Session, SetClock, kit_from, setting_for
from assistant.hearing.recogniser import open_recogniser
from assistant.hearing.wav import read_wav
from assistant.incident import events as ev
from assistant.incident.events_json import event_to_text
from assistant.journal import Journal, open_incidents
from assistant.meaning.typed import typed
from assistant.utterance import Utterance

PAGE_MB = os.sysconf("SC_PAGE_SIZE") / 1e6
NOISE_SAMPLES = 48_000


class Told:
    """A screen that shows nothing."""

    def show_turn(self, turn: object, state: object) -> None: ...
    def show_alert(self, alert: object, state: object) -> None: ...
    def show_prompt(self, at_s: float, say: str, state: object) -> None: ...


class Kept:
    """The journal, and what was put into it for the line in hand."""

    def __init__(self, journal: Journal) -> None:
        self.journal = journal
        self.events: list[tuple[int, str]] = []

    def append(self, events: Sequence[ev.Event]) -> tuple[int, ...]:
        numbers = self.journal.append(events)
        assert self.journal.trouble is None, self.journal.trouble
        self.events += zip(numbers, map(event_to_text, events), strict=True)
        return numbers


def main() -> None:
    """Answers lines until its input ends; then the incident is brought to its end."""
    folder = Path(sys.argv[1])
    offered = open_incidents(folder)
    journal = Journal.open(offered[0].path) if offered else Journal.create(folder)
    before = [event for _, event in journal.events()]
    setting = setting_for(kit_from(None))
    ears = open_recogniser("vosk", setting.grammar)
    kept = Kept(journal)
    clock = SetClock(max((event.at_s for event in before), default=0.0))
    session = Session(setting, clock, Told(), record=kept, events=before)  # type: ignore[arg-type]
    _tell({"file": str(journal.path), "events": len(before)})
    for text in sys.stdin:
        line = json.loads(text)
        began = process_time()
        clock.set(line["at_s"])
        utterance = _utterance(line, setting.grammar, ears)
        if utterance is None:
            session.pass_time()
        else:
            session.hear(utterance)
        _tell({"events": kept.events, "rss_mb": _rss_mb(), "ms": 1000 * (process_time() - began)})
        kept.events = []
    journal.finish(clock.now_s())
    _tell({"state": repr(session.state)})


def _utterance(line: dict[str, Any], grammar: Any, ears: Any) -> Utterance | None:
    if "text" in line:
        return typed(line["text"], grammar)
    if "wav" in line:
        return ears.hear(read_wav(line["wav"]))
    if "noise" in line:
        noise = np.random.default_rng(line["noise"]).standard_normal(NOISE_SAMPLES) * 0.1
        return ears.hear(noise.astype(np.float32))
    return None


def _rss_mb() -> float:
    gc.collect(0)
    return int(Path("/proc/self/statm").read_text().split()[1]) * PAGE_MB


def _tell(answer: dict[str, Any]) -> None:
    print(json.dumps(answer), flush=True)


if __name__ == "__main__":
    main()
