"""Turns and alerts as the contract's JSON objects."""

from __future__ import annotations

from typing import Any

from assistant.dialogue.supply_now import SupplyNow, supplies
from assistant.dialogue.turn import Turn, asked_json
from assistant.incident.events import AlertRaised
from assistant.incident.state import State
from assistant.meaning.contract import to_json


def turn_json(turn: Turn, state: State) -> dict[str, Any]:
    """The `turn` line; `state` is the state after it."""
    return {
        "type": "turn",
        "at_s": round(turn.at_s, 3),
        "heard": turn.heard,
        "outcome": turn.outcome,
        "understood": [to_json(meaning) for meaning in turn.understood],
        "reply": turn.reply,
        "supply": [_supply_json(now) for now in supplies(state, turn.at_s) if now.patient is not None],
        "asked": asked_json(turn.asked),
    }


def _supply_json(now: SupplyNow) -> dict[str, Any]:
    minutes = now.minutes
    return {
        "cylinder": now.cylinder,
        "patient": now.patient,
        "minutes_to_reserve": None if minutes is None else round(minutes.expected, 2),
        "low": None if minutes is None else round(minutes.low, 2),
        "high": None if minutes is None else round(minutes.high, 2),
        "pressure": None if now.pressure is None else {"value": now.pressure.value, "unit": now.pressure.unit},
        "flow": None if now.flow_l_min is None else {"value": now.flow_l_min, "unit": "L/min"},
    }


def alert_json(alert: AlertRaised) -> dict[str, Any]:
    """The `alert` line."""
    return {
        "type": "alert",
        "at_s": round(alert.at_s, 3),
        "priority": alert.priority,
        "kind": alert.alert,
        "cylinder": alert.cylinder,
        "patient": alert.patient,
        "say": alert.say,
    }
