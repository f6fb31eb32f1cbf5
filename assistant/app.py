"""One conversation about one incident: utterances and the passing of time in, turns and alerts out.

Wiring alone: it keeps the order (record first, then speak) and the clock; every rule is in the rooms below.
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Protocol

from assistant import shelf
from assistant.dialogue.alerts_said import alerts_raised
from assistant.dialogue.asking import asked_with
from assistant.dialogue.turn import Setting, Turn, take_turn
from assistant.grammar import Grammar, load_grammar, read_sounds
from assistant.incident import events as ev
from assistant.incident import procedures
from assistant.incident.log import Incident
from assistant.incident.procedures import load_procedures
from assistant.incident.state import State
from assistant.incident.watch import next_due_s
from assistant.meaning.kinds import Question
from assistant.meaning.names import slots
from assistant.oxygen.kit import Kit, default_kit
from assistant.utterance import Utterance


class Clock(Protocol):
    """Seconds since the incident began; never goes backwards. `steps`: time is simulated and can be gone through."""

    steps: bool

    def now_s(self) -> float: ...


class SteadyClock:
    """The machine's monotonic clock, which counts sleep where the system can; `began_s` where the incident stands."""

    steps = False

    def __init__(self, began_s: float = 0.0) -> None:
        self._offset_s = began_s - self._machine_s()

    @staticmethod
    def _machine_s() -> float:
        boottime = getattr(time, "CLOCK_BOOTTIME", None)
        return time.clock_gettime(boottime) if boottime is not None else time.monotonic()

    def now_s(self) -> float:
        return self._machine_s() + self._offset_s


class SetClock:
    """A clock that is set: the simulated time of `replay`, and tests."""

    steps = True

    def __init__(self, at_s: float = 0.0) -> None:
        self._at_s = at_s

    def now_s(self) -> float:
        return self._at_s

    def set(self, at_s: float) -> None:
        """Moves the clock forward to `at_s`."""
        self._at_s = max(self._at_s, at_s)


class Record(Protocol):
    """Where events are kept; they are safe when `append` returns."""

    def append(self, events: Sequence[ev.Event]) -> tuple[int, ...]: ...


class Screen(Protocol):
    """What shows and speaks what comes out."""

    def show_turn(self, turn: Turn, state: State) -> None: ...
    def show_alert(self, alert: ev.AlertRaised, state: State) -> None: ...
    def show_prompt(self, at_s: float, say: str, state: State) -> None: ...


class Session:
    """A conversation. Everything goes through `hear` and `pass_time`; both record before they show."""

    def __init__(
        self,
        setting: Setting,
        clock: Clock,
        screen: Screen,
        *,
        record: Record | None = None,
        events: Sequence[ev.Event] = (),
        began: datetime | None = None,
    ) -> None:
        self.setting = setting
        self.incident = Incident(setting.kit, events)
        self._clock = clock
        self._screen = screen
        self._record = record
        self._began = began

    @property
    def state(self) -> State:
        """The state after the last event."""
        return self.incident.state

    def hear(self, utterance: Utterance) -> Turn:
        """Take one turn now, after the alerts that fell due before it."""
        at_s = self._clock.now_s()
        self.pass_time(at_s)
        turn = take_turn(self.incident, utterance, at_s, self.setting, self._read_out)
        self._keep(turn.events)
        self._screen.show_turn(turn, self.state)
        self.pass_time(at_s)
        return turn

    def pass_time(self, to_s: float | None = None) -> None:
        """Raise every alert that falls due up to `to_s` (now).

        On a simulated clock each comes at its own time; on the machine's all that fell due meanwhile come now.
        """
        to_s = self._clock.now_s() if to_s is None else to_s
        while (due_s := self.next_due_s(to_s)) <= to_s:
            at_s = max(due_s, self.state.at_s) if self._clock.steps else to_s
            if not self._announce(at_s):
                break

    def next_due_s(self, now_s: float | None = None) -> float:
        """When something will have to be said if nothing happens before: an alert, or a timed step's end.

        On the machine's clock what ended unsaid before `now_s`, as in a stall, is due no more.
        """
        step_s = procedures.next_due_s(self.setting.procedures, self.state)
        since_s = self.state.at_s if self._clock.steps else self._clock.now_s() if now_s is None else now_s
        return min(next_due_s(self.state, self.setting.kit, since_s), math.inf if step_s is None else step_s)

    def _announce(self, at_s: float) -> bool:
        """Say what is due at `at_s`, alerts before steps; false where nothing was."""
        alerts = alerts_raised(self.state, at_s)
        for alert in alerts:
            question = asked_with(alert, self.state)
            self._keep((alert,) if question is None else (alert, question))
            self._screen.show_alert(alert, self.state)
        move = procedures.due(self.setting.procedures, self.state, at_s)
        if move is not None:
            self._keep(move.events)
            self._screen.show_prompt(at_s, " ".join(move.say), self.state)
        return bool(alerts) or move is not None

    def _keep(self, events: Sequence[ev.Event]) -> None:
        if not events:
            return
        if self._record is not None:
            self._record.append(events)
        self.incident.append(events)

    def _read_out(self, question: Question, incident: Incident, at_s: float) -> str:
        from assistant.report.reading_out import said_for

        numbered = enumerate(incident.events, start=1)
        return said_for(
            question.about,
            question.detail,
            numbered,
            self.setting.kit,
            at_s=at_s,
            began=self._began,
            patient=question.patient,
        )


def kit_from(path: Path | None) -> Kit:
    """The kit of a file, or the default kit. Raises KitError, OSError."""
    if path is None:
        return default_kit()
    return Kit.from_toml(path.read_text(encoding="utf-8"), source=str(path))


def grammar_for(kit: Kit, language: str = "en") -> Grammar:
    """The grammar with the kit's own words in it; `language` is a shipped folder's name, or the path of another."""
    sounds = read_sounds(shelf.sounds(language), file=shelf.SOUNDS)
    said = shelf.said_sentences(language)
    return load_grammar(shelf.grammar_texts(language), slots(kit), said=said, sounds=sounds)


def setting_for(kit: Kit) -> Setting:
    """Kit, grammar and procedures, ready for a conversation."""
    return Setting(kit=kit, grammar=grammar_for(kit), procedures=load_procedures(shelf.procedure_texts()))
