"""What a turn came to, held against what was meant. Takes turns and expected meanings; gives one word for each.

right: in force at once, all of it and nothing else. asked: a question came first; the speaker answers it once,
and it is then asked_right, asked_wrong or asked_open. wrong: something is in force that was not said.
missed: nothing is in force. part: only part of what was said is in force (counted as missed in the table).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import isclose, sqrt
from typing import Any

Json = Mapping[str, Any]
VERDICTS = ("right", "asked_right", "asked_open", "asked_wrong", "wrong", "part", "missed")
# What changes no value: where there is nothing to undo or to repeat, understanding it is all there is to do.
CONTROL = ("question", "step", "answer", "correction", "alarm_heard")
FILLED_IN = ("cylinder", "patient")
Z_95 = 1.959964


def fits(expected: Json, taken: Json) -> bool:
    """Whether a meaning is the expected one; a cylinder or patient that was not said may be filled in."""
    if expected["kind"] == "number":
        return _value_of(taken) == expected["value"]
    if expected == {"kind": "answer", "yes": False} and taken["kind"] == "correction":
        return True  # "no" where no question waits takes the last value back
    if any(name not in taken or not _same(wanted, taken[name]) for name, wanted in expected.items()):
        return False
    return all(name in expected or name in (*FILLED_IN, "detail", "at", "back") for name in taken)


def _value_of(taken: Json) -> float | None:
    measure = taken.get("pressure") or taken.get("flow")
    return measure["value"] if measure else taken.get("value", taken.get("minutes"))


def _same(wanted: Any, taken: Any) -> bool:
    if wanted == "*":
        return bool(taken)
    if isinstance(wanted, Mapping):
        return isinstance(taken, Mapping) and all(_same(part, taken.get(name)) for name, part in wanted.items())
    if isinstance(wanted, int | float) and not isinstance(wanted, bool):
        return isinstance(taken, int | float) and isclose(wanted, taken, rel_tol=1e-3)
    return bool(wanted == taken)


def settled(meanings: Iterable[Json]) -> list[Json]:
    """The meanings' net effect: who is spoken of goes into what follows, and a value taken back in the same breath
    ("fifteen, no, sixteen hundred") leaves only its successor."""
    about: dict[str, Any] = {}
    done: list[Json] = []
    for meaning in meanings:
        if meaning["kind"] == "attend":
            about = {name: meaning[name] for name in FILLED_IN if name in meaning}
            continue
        fields = {
            "cylinder": ("gauge_reading", "cylinder_size"),
            "patient": ("flow_rate", "delivery_device", "vital_sign"),
        }
        extra = {n: v for n, v in about.items() if meaning["kind"] in fields[n] and n not in meaning}
        done.append({**meaning, **extra})
    kinds = [m["kind"] for m in done]
    if len(done) == 3 and kinds[1] == "correction" and (kinds[0] == kinds[2] or kinds[2] == "number"):
        return done[2:]
    return done


def leftovers(expected: Sequence[Json], taken: Sequence[Json]) -> tuple[list[Json], list[Json]]:
    """Which expected meanings were not taken, and which taken ones were not expected."""
    surplus = list(taken)
    absent: list[Json] = []
    for wanted in expected:
        match = next((meaning for meaning in surplus if fits(wanted, meaning)), None)
        if match is None:
            absent.append(wanted)
        else:
            surplus.remove(match)
    return absent, surplus


def verdict(expected: Sequence[Json], outcome: str, understood: Sequence[Json]) -> str:
    """right, wrong, part, asked or missed."""
    absent, surplus = leftovers(expected, settled(understood))
    exact = not absent and not surplus
    if exact and (outcome == "taken" or (outcome in ("refused", "asked") and _changes_no_value(expected))):
        return "right"
    if outcome == "taken":
        return "wrong" if surplus else "part"
    return "asked" if outcome == "asked" else "missed"


def _changes_no_value(expected: Sequence[Json]) -> bool:
    return all(meaning["kind"] in CONTROL for meaning in expected)


def wrong_value(expected: Sequence[Json], understood: Sequence[Json]) -> bool:
    """Whether a value that was not said is among what was understood: worse than a wrong question or step."""
    _, surplus = leftovers(expected, settled(understood))
    return any(meaning["kind"] not in (*CONTROL, "note") for meaning in surplus)


@dataclass(frozen=True, slots=True)
class Share:
    """`part` of `whole`, with its 95 % Wilson interval."""

    part: int
    whole: int

    @property
    def percent(self) -> float:
        return 100 * self.part / self.whole if self.whole else float("nan")

    @property
    def interval(self) -> tuple[float, float]:
        """In percent (Wilson, J Am Stat Assoc 1927)."""
        if not self.whole:
            return 0.0, 100.0
        n, p = self.whole, self.part / self.whole
        centre = p + Z_95**2 / (2 * n)
        spread = Z_95 * sqrt(p * (1 - p) / n + Z_95**2 / (4 * n * n))
        below = 1 + Z_95**2 / n
        return max(0.0, 100 * (centre - spread) / below), min(100.0, 100 * (centre + spread) / below)

    def __str__(self) -> str:
        low, high = self.interval
        return f"{self.percent:.1f} ({low:.1f}-{high:.1f})"
