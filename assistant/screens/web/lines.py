"""The conversation as the page shows it: one JSON object a line. From turns as they come, or from the record."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from assistant.dialogue.turn import Turn
from assistant.incident.events import AlertRaised, Event, UtteranceHeard


def turn_lines(turn: Turn) -> Iterator[dict[str, Any]]:
    """What was heard and what was answered; talk for nobody is one quiet line."""
    if turn.outcome == "ignored":
        if turn.heard:
            yield _line(turn.at_s, "aside", turn.heard)
        return
    yield _line(turn.at_s, "medic", turn.heard)
    yield _line(turn.at_s, "voice", turn.reply, outcome=turn.outcome)


def alert_line(alert: AlertRaised) -> dict[str, Any]:
    """An alert."""
    return _line(alert.at_s, "alert", alert.say, priority=alert.priority, kind=alert.alert)


def prompt_line(at_s: float, say: str) -> dict[str, Any]:
    """What a procedure says by itself."""
    return _line(at_s, "voice", say, outcome="taken")


def note_line(at_s: float, text: str) -> dict[str, Any]:
    """A line about the assistant itself: the record, the microphone."""
    return _line(at_s, "note", text)


def recorded_lines(events: Iterable[Event]) -> Iterator[dict[str, Any]]:
    """The conversation so far, out of the record of an incident that is gone on with."""
    for event in events:
        if isinstance(event, UtteranceHeard):
            yield _line(event.at_s, "medic", event.heard)
            yield _line(event.at_s, "voice", event.reply, outcome=event.outcome)
        elif isinstance(event, AlertRaised):
            yield alert_line(event)


def _line(at_s: float, who: str, text: str, **more: str) -> dict[str, Any]:
    whole = int(at_s)
    clock = f"{whole // 3600}:{whole % 3600 // 60:02d}:{whole % 60:02d}"
    return {"type": "line", "clock": clock, "who": who, "text": text, **more}
