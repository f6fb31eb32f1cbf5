"""Which reading of an utterance is taken, asked about or left alone.

Takes the readings, best first, and the state; gives a decision as a value and changes nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.incident.state import State
from assistant.meaning.kinds import Meaning
from assistant.meaning.understand import Reading
from assistant.utterance import Utterance


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """One reading clearly leads."""

    reading: Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubtful:
    """Two readings differ in a value that matters: `choices`, best first; `rest` is what both agree on."""

    best: Reading
    about: str
    choices: tuple[Meaning, ...]
    rest: tuple[Meaning, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NotForUs:
    """Silence, noise or other people's talk."""


Decision = Chosen | Doubtful | NotForUs


def decide(readings: tuple[Reading, ...], utterance: Utterance, state: State, at_s: float) -> Decision:
    """The decision on one utterance."""
    if not readings:
        return NotForUs()
    return Chosen(reading=readings[0])
