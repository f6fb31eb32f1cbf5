"""Types very many lines into running incidents and prints what came of it: crashes, inventions, slow ones.

Usage: python tests/fuzz/utterances.py [--count 1000000] [--seed 1] [--show 20]. Exit status 1 where anything is wrong.
Times are processor time, so that other work does not count, and a slow line must be so again: nor does the collector.
"""

from __future__ import annotations

import gc
import resource
import sys
import traceback
from argparse import ArgumentParser
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from time import process_time

sys.path.insert(0, str(Path(__file__).parents[2]))

from assistant.app import SetClock, kit_from, setting_for
from assistant.dialogue.turn import Setting, Turn, take_turn
from assistant.incident import events as ev
from assistant.incident.log import Incident
from assistant.meaning import kinds as k
from assistant.meaning.contract import from_json
from assistant.meaning.typed import typed
from assistant.meaning.understand import Reading, understand, understood_in_part
from assistant.utterance import Utterance
from tests.fuzz.generator import lines
from tests.fuzz.invention import fault

LIMIT_MS = 50.0
MEMORY_LIMIT_GB = 4
LINES_AN_INCIDENT = 60
LONGEST_PAUSE_S = 240.0


@dataclass(slots=True, kw_only=True)
class Found:
    """What came of the lines so far; the lists hold (way, line, what)."""

    outcomes: Counter[str] = field(default_factory=Counter)
    ways: Counter[str] = field(default_factory=Counter)
    crashes: list[tuple[str, str, str]] = field(default_factory=list)
    inventions: list[tuple[str, str, str]] = field(default_factory=list)
    slow: list[tuple[str, str, str]] = field(default_factory=list)
    worst_ms: float = 0.0
    spent_s: float = 0.0
    readings: int = 0
    values: int = 0

    @property
    def bad(self) -> int:
        return len(self.crashes) + len(self.inventions) + len(self.slow)


class Fuzzing:
    """Incidents one after the other, into which lines are typed."""

    def __init__(self, setting: Setting, seed: int) -> None:
        self.setting = setting
        self.found = Found()
        self._random = Random(seed)
        self._names = frozenset(name for c in setting.kit.cylinders for name in (*c.called, c.size.lower()))
        self._begin()

    def type(self, way: str, line: str) -> None:
        """One line: through typing, understanding and the turn, whose events are put in force."""
        self.found.ways[way] += 1
        self._lines += 1
        self._clock.set(self._clock.now_s() + self._random.uniform(0, LONGEST_PAUSE_S))
        try:
            self._typed(way, line)
        except Exception:
            self.found.crashes.append((way, line, traceback.format_exc(limit=-3)))
            self._begin()
        if self._lines >= LINES_AN_INCIDENT:
            self._begin()

    def _typed(self, way: str, line: str) -> None:
        utterance, turn, took_ms = self._timed(line)
        self.found.outcomes[turn.outcome] += 1
        self.found.spent_s += took_ms / 1000
        if took_ms > LIMIT_MS:
            again_ms = min(self._timed(line)[2] for _ in range(3))
            if again_ms > LIMIT_MS:
                self.found.slow.append((way, line, f"{took_ms:.0f} ms, again {again_ms:.0f} ms"))
            took_ms = min(took_ms, again_ms)
        self.found.worst_ms = max(self.found.worst_ms, took_ms)
        if turn.outcome != "ignored":
            self._compare(way, line, utterance, turn)
            self._incident.append(turn.events)

    def _timed(self, line: str) -> tuple[Utterance, Turn, float]:
        began = process_time()
        utterance = typed(line, self.setting.grammar)
        turn = take_turn(self._incident, utterance, self._clock.now_s(), self.setting)
        return utterance, turn, 1000 * (process_time() - began)

    def _compare(self, way: str, line: str, utterance: Utterance, turn: Turn) -> None:
        grammar, kit = self.setting.grammar, self.setting.kit
        readings = understand(utterance, grammar, kit) or understood_in_part(utterance, grammar, kit)
        may_be_taken = self._may_be_taken(readings)
        for reading in readings:
            self.found.readings += 1
            wrong = fault(line, reading.words, reading.meanings, self._names)
            if wrong:
                self.found.inventions.append((way, line, f"{wrong}: {reading.meanings}"))
        for value in _put_in_force(turn):
            self.found.values += 1
            if value not in may_be_taken:
                self.found.inventions.append(
                    (way, line, f"{value} put in force, pending {self._incident.state.question}")
                )

    def _may_be_taken(self, readings: tuple[Reading, ...]) -> set[tuple[str, float]]:
        """The values of all readings, and those of the question that waits for an answer."""
        asked = self._incident.state.question
        waiting = [from_json(said) for said in (*asked.choices, *asked.rest)] if asked else []
        said = [meaning for reading in readings for meaning in reading.meanings]
        bare = {m.value for m in said if isinstance(m, k.BareNumber)}
        kinds = ("gauge", "flow", "vital", "minutes", "metres", "celsius", "percent")
        named = {pair for meaning in (*said, *waiting) for pair in _values_of(meaning)}
        return named | {(kind, value) for kind in kinds for value in bare}

    def _begin(self) -> None:
        self._clock = SetClock()
        self._incident = Incident(self.setting.kit)
        self._lines = 0


def _values_of(meaning: k.Meaning) -> Iterator[tuple[str, float]]:
    match meaning:
        case k.GaugeReading():
            yield "gauge", meaning.pressure.value
        case k.FlowRate():
            yield "flow", meaning.flow.value
        case k.VitalSign(value=int(value)):
            yield "vital", float(value)
        case k.TimeToHandover():
            yield "minutes", round(meaning.minutes, 6)
        case k.Altitude():
            yield "metres", meaning.metres
        case k.Temperature():
            yield "celsius", meaning.celsius
        case k.TargetSaturation():
            yield from (("percent", float(meaning.low)), ("percent", float(meaning.high)))
        case k.DeliveryDevice(oxygen_percent=int(percent)):
            yield "percent", float(percent)


def _put_in_force(turn: Turn) -> Iterator[tuple[str, float]]:
    for event in turn.events:
        match event:
            case ev.GaugeRead():
                yield "gauge", event.value
            case ev.FlowSet() if not (
                event.flow_l_min == 0 and any(isinstance(e, ev.ProcedureMoved) for e in turn.events)
            ):
                yield "flow", event.flow_l_min
            case ev.VitalNoted(value=int(value)):
                yield "vital", float(value)
            case ev.HandoverExpected() if event.handover_at_s >= turn.at_s:
                yield "minutes", round((event.handover_at_s - event.at_s) / 60, 6)
            case ev.AltitudeNoted():
                yield "metres", event.metres
            case ev.TemperatureNoted():
                yield "celsius", event.celsius
            case ev.TargetSet():
                yield from (("percent", float(event.low)), ("percent", float(event.high)))
            case ev.DeviceFitted(oxygen_percent=int(percent)):
                yield "percent", float(percent)


def fuzzed(count: int, seed: int, *, setting: Setting | None = None, progress: int = 0) -> Found:
    """What came of `count` lines; after every `progress` of them standard error is told."""
    fuzzing = Fuzzing(setting or setting_for(kit_from(None)), seed)
    for number, (way, line) in zip(range(1, count + 1), lines(fuzzing.setting.grammar, seed), strict=False):
        bad = fuzzing.found.bad
        fuzzing.type(way, line)
        if progress and fuzzing.found.bad > bad:
            print(f"found in line {number}: {line[:300]!r}", flush=True)
        if progress and number % progress == 0:
            print(_summary(fuzzing.found, number), file=sys.stderr, flush=True)
    return fuzzing.found


def _summary(found: Found, count: int) -> str:
    outcomes = ", ".join(f"{name} {number}" for name, number in sorted(found.outcomes.items()))
    return (
        f"{count} lines ({outcomes}); {found.readings} readings and {found.values} values compared with the words: "
        f"{len(found.crashes)} crashes, {len(found.inventions)} inventions, {len(found.slow)} over {LIMIT_MS:.0f} ms; "
        f"mean {1000 * found.spent_s / count:.2f} ms, longest {found.worst_ms:.1f} ms of processor time"
    )


def main() -> int:
    """The totals, and the first of what went wrong."""
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=1_000_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--show", type=int, default=20, help="so many of each kind of finding are printed")
    args = parser.parse_args()
    gc.set_threshold(100_000)  # a million lines make little garbage that needs looking for
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_LIMIT_GB << 30, MEMORY_LIMIT_GB << 30))
    found = fuzzed(args.count, args.seed, progress=max(1, args.count // 20))
    for kind in ("crashes", "inventions", "slow"):
        for way, line, what in getattr(found, kind)[: args.show]:
            print(f"{kind}: {way}: {line[:200]!r}\n    {what}")
    print("ways:", ", ".join(f"{way} {number}" for way, number in found.ways.most_common()))
    print(_summary(found, args.count))
    return 1 if found.bad else 0


if __name__ == "__main__":
    sys.exit(main())
