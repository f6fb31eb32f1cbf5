"""An event as it stands on record: with its place in the incident and the wall time of its writing."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.incident.events import Event


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """One event; `number` counts from 1, `wall` is ISO, UTC ("" where it was never written)."""

    number: int
    wall: str
    event: Event
