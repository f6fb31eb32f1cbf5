"""Turns, alerts and errors as JSON lines for other programs: one object a line, nothing else."""

from __future__ import annotations

import json
from typing import Any, TextIO

from assistant.dialogue.turn import Turn
from assistant.dialogue.turn_json import alert_json, turn_json
from assistant.incident.events import AlertRaised
from assistant.incident.state import State


class JsonLines:
    """A screen for programs."""

    def __init__(self, out: TextIO) -> None:
        self._out = out

    def show_turn(self, turn: Turn, state: State) -> None:
        self._write(turn_json(turn, state))

    def show_alert(self, alert: AlertRaised, state: State) -> None:
        self._write(alert_json(alert))

    def show_prompt(self, at_s: float, say: str, state: State) -> None:
        """Beyond the contract: a timed step of a procedure is over."""
        self._write({"type": "prompt", "at_s": round(at_s, 3), "say": say})

    def show_error(self, line: int, why: str) -> None:
        """An input line that could not be read, by its number from 1."""
        self._write({"type": "error", "line": line, "error": why})

    def _write(self, fields: dict[str, Any]) -> None:
        print(json.dumps(fields, ensure_ascii=False), file=self._out, flush=True)
