"""Whole conversations as data: what is typed, what comes of it, word for word."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest

from assistant.app import Session, SetClock
from assistant.dialogue.turn import Setting, Turn
from assistant.incident.events import AlertRaised
from assistant.incident.state import State
from assistant.meaning.typed import typed

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

CASES = sorted((Path(__file__).parent.parent / "conversations").glob("*.toml"))


class Kept:
    """A screen that keeps what it is shown."""

    def __init__(self) -> None:
        self.turns: list[Turn] = []
        self.alerts: list[AlertRaised] = []
        self.prompts: list[str] = []

    def show_turn(self, turn: Turn, state: State) -> None:
        self.turns.append(turn)

    def show_alert(self, alert: AlertRaised, state: State) -> None:
        self.alerts.append(alert)

    def show_prompt(self, at_s: float, say: str, state: State) -> None:
        self.prompts.append(say)


def _problems(expected: dict[str, Any], turn: Turn, kept: Kept) -> list[str]:
    found = []
    if turn.outcome != expected["outcome"]:
        found.append(f"outcome {turn.outcome}, not {expected['outcome']}")
    if "reply" in expected and turn.reply != expected["reply"]:
        found.append(f"reply {turn.reply!r}, not {expected['reply']!r}")
    asked = turn.asked.about if turn.asked else None
    if "asked" in expected and asked != expected["asked"]:
        found.append(f"asked {asked}, not {expected['asked']}")
    kinds = [m.kind for m in turn.understood]
    if "understood" in expected and kinds != expected["understood"]:
        found.append(f"understood {kinds}, not {expected['understood']}")
    alerts = [a.alert for a in kept.alerts]
    if "alerts" in expected and alerts != expected["alerts"]:
        found.append(f"alerts {alerts}, not {expected['alerts']}")
    return found


@pytest.mark.parametrize("case", CASES, ids=lambda path: path.stem)
def test_a_conversation_goes_as_written(case: Path, setting: Setting) -> None:
    clock, kept = SetClock(), Kept()
    session = Session(setting, clock, kept)
    for expected in tomllib.loads(case.read_text(encoding="utf-8"))["turn"]:
        clock.set(expected["at_s"])
        kept.alerts.clear()
        turn = session.hear(typed(expected["says"], setting.grammar))
        assert not _problems(expected, turn, kept), expected["says"]
