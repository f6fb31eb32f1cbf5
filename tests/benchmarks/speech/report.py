"""Tables of what came of it all. Takes scored results; gives Markdown and JSON lines, every share with its interval."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass

from scoring import Share


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """One item in one condition, through one pair of ears and one decider."""

    way: str
    condition: str
    kind: str
    name: str
    speaker: str
    human: bool
    words: str
    heard: str
    verdict: str
    covered: bool
    seconds: float
    wrong_value: bool = False
    detail: str = ""
    decided_s: float = 0.0


def _share(results: Sequence[Result], *verdicts: str) -> Share:
    return Share(sum(result.verdict in verdicts for result in results), len(results))


def _summary(way: str, condition: str, results: Sequence[Result]) -> dict[str, object]:
    asked = ("asked_right", "asked_open", "asked_wrong")
    shares = {
        "right_at_once": _share(results, "right"),
        "right_after_a_question": _share(results, "right", "asked_right"),
        "asked": _share(results, *asked),
        "wrong_and_taken": _share(results, "wrong", "asked_wrong"),
        "missed": _share(results, "missed", "part"),
    }
    wrong_values = Share(sum(result.wrong_value for result in results), len(results))
    return {"way": way, "condition": condition, "n": len(results), **shares, "wrong_value_taken": wrong_values}


def command_summaries(results: Iterable[Result], *, covered_only: bool) -> list[dict[str, object]]:
    """One row for each way and condition: n and the shares. `covered_only`: of sentences that the grammar has."""
    chosen = [r for r in results if r.kind == "command" and (r.covered or not covered_only)]
    keys = dict.fromkeys((r.way, r.condition) for r in chosen)
    return [
        _summary(way, condition, [r for r in chosen if (r.way, r.condition) == (way, condition)])
        for way, condition in keys
    ]


def talk_summaries(results: Iterable[Result]) -> list[dict[str, object]]:
    """One row for each way, condition and sort of talk: hours played, how often it was taken or answered."""
    chosen = [r for r in results if r.kind in ("talk", "noise")]
    keys = dict.fromkeys((r.way, r.condition, _sort(r)) for r in chosen)
    rows: list[dict[str, object]] = []
    for way, condition, sort in keys:
        these = [r for r in chosen if (r.way, r.condition, _sort(r)) == (way, condition, sort)]
        hours = sum(r.seconds for r in these) / 3600
        taken = sum(r.verdict == "taken" for r in these)
        reacted = sum(r.verdict != "ignored" for r in these)
        row = {"way": way, "condition": condition, "talk": sort, "n": len(these), "hours": round(hours, 3)}
        rows.append({**row, "taken": taken, "taken_per_hour": round(taken / hours, 2), "reacted": reacted})
    return rows


def _sort(result: Result) -> str:
    return "noise" if result.kind == "noise" else "people" if result.human else "synthetic"


def answer_summaries(results: Iterable[Result]) -> list[dict[str, object]]:
    """One row for each way and kind of people's bare answers."""
    chosen = [r for r in results if r.kind in ("number", "word")]
    rows = []
    for way, condition, kind in dict.fromkeys((r.way, r.condition, r.kind) for r in chosen):
        these = [r for r in chosen if (r.way, r.condition, r.kind) == (way, condition, kind)]
        rows.append({"answers": kind, **_summary(way, condition, these)})
    return rows


def table(rows: Sequence[dict[str, object]]) -> str:
    """The rows as a Markdown table, shares as percent with their 95 % interval; "" for none."""
    if not rows:
        return ""
    names = list(rows[0])
    lines = [names, ["---"] * len(names), *([str(row[name]) for name in names] for row in rows)]
    return "\n".join("| " + " | ".join(cells).replace("_", " ") + " |" for cells in lines)


def json_lines(rows: Iterable[dict[str, object]]) -> Iterator[str]:
    """The rows as JSON objects: a share as part, whole, percent and interval."""
    for row in rows:
        yield json.dumps({name: _plain(value) for name, value in row.items()})


def _plain(value: object) -> object:
    if not isinstance(value, Share):
        return value
    low, high = value.interval
    return {"part": value.part, "of": value.whole, "percent": round(value.percent, 2), "low": low, "high": high}


def detail_lines(results: Iterable[Result]) -> Iterator[str]:
    """Each result as a JSON object, for a look at what went wrong."""
    return (json.dumps(asdict(result)) for result in results)
