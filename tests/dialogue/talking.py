"""An incident that is talked to in a test, one utterance after the other."""

from __future__ import annotations

from assistant.dialogue.turn import Setting, Turn, take_turn
from assistant.incident.log import Incident
from assistant.meaning.typed import typed
from assistant.utterance import Utterance


class Talk:
    """Begins with typed lines; `every_s` passes before each utterance where it is not said how long."""

    def __init__(self, setting: Setting, *lines: str, every_s: float = 20.0) -> None:
        self.setting, self.incident, self.at_s, self.every_s = setting, Incident(setting.kit), 0.0, every_s
        for line in lines:
            self.types(line)

    def hears(self, utterance: Utterance, *, after_s: float | None = None) -> Turn:
        self.at_s += self.every_s if after_s is None else after_s
        turn = take_turn(self.incident, utterance, self.at_s, self.setting)
        self.incident.append(turn.events)
        return turn

    def types(self, text: str) -> Turn:
        return self.hears(typed(text, self.setting.grammar))

    @property
    def step(self) -> str | None:
        return self.incident.state.procedure.step if self.incident.state.procedure else None

    @property
    def psi(self) -> float | None:
        return self.incident.state.cylinders["1"].value
