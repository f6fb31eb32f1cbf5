"""A conversation in which a drill is played: its cues come among the alerts, the gauge shows when it is asked for.

Wiring alone: the plot, the needle and the score are in assistant.incident.drill and beside it.
"""

from __future__ import annotations

import math
from typing import Any

from assistant.app import Session
from assistant.dialogue.turn import Turn
from assistant.incident import drill as dr
from assistant.incident.drill_score import ScoreSheet, scored
from assistant.incident.events import DrillCued
from assistant.incident.procedures import asked_by_step
from assistant.utterance import Utterance


class DrillSession(Session):
    """A session on the kit's drill of `seed`. Begins the record with the drill's mark."""

    def __init__(self, *args: Any, seed: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.drill = dr.drill_of(seed, self.setting.kit)
        self._keep((dr.begun(self.drill),))

    @property
    def over(self) -> bool:
        """Whether the last cue was told."""
        return dr.over(self.incident.events)

    def sheet(self) -> ScoreSheet:
        """The score so far."""
        return scored(self.drill, self.incident.events)

    def hear(self, utterance: Utterance) -> Turn:
        """A turn; then what follows from it: a new bottle's needle, or the needle that was asked for."""
        wanted = self._gauge_wanted()
        turn = super().hear(utterance)
        self._tell(dr.cues_due(self.drill, self.incident.events, turn.at_s))
        self._show_if_wanted(wanted, turn.at_s)
        return turn

    def look(self) -> None:
        """The trainee looks at the gauge."""
        self._tell((dr.needle_cue(self.drill, self.incident.events, self._clock.now_s()),))

    def next_due_s(self, now_s: float | None = None) -> float:
        """Alerts, timed steps and cues."""
        cue_s = dr.next_cue_s(self.drill, self.incident.events)
        return min(super().next_due_s(now_s), math.inf if cue_s is None else cue_s)

    def _announce(self, at_s: float) -> bool:
        wanted = self._gauge_wanted()
        cues = dr.cues_due(self.drill, self.incident.events, at_s)
        self._tell(cues)
        said = super()._announce(at_s)
        self._show_if_wanted(wanted, at_s)
        return said or bool(cues)

    def _show_if_wanted(self, before: bool, at_s: float) -> None:
        """The needle, where it was just asked for and not told at this moment already."""
        if self._gauge_wanted() and not before and not dr.needle_told(self.incident.events, at_s):
            self._tell((dr.needle_cue(self.drill, self.incident.events, at_s),))

    def _gauge_wanted(self) -> bool:
        question = self.state.question
        asked = question is not None and question.about == "gauge_reading"
        return asked or asked_by_step(self.setting.procedures, self.state) == "gauge_reading"

    def _tell(self, cues: tuple[DrillCued, ...]) -> None:
        self._keep(cues)
        for cue in cues:
            self._screen.show_prompt(cue.at_s, f"Drill: {cue.say}", self.state)
