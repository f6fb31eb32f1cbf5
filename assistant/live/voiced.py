"""A screen with a voice for live use: shown first, then put into the queue of what is to be said.

And `Several`, which shows one conversation on several screens.
"""

from __future__ import annotations

from collections.abc import Sequence

from assistant.app import Screen
from assistant.dialogue.turn import Turn
from assistant.incident.events import AlertRaised
from assistant.incident.state import State
from assistant.speaking.speech_queue import SpeechQueue


class Voiced:
    """Speaks what another screen shows; what does not fit the voice stays shown."""

    def __init__(self, screen: Screen, voice: SpeechQueue) -> None:
        self._screen = screen
        self._voice = voice

    def show_turn(self, turn: Turn, state: State) -> None:
        self._screen.show_turn(turn, state)
        self._voice.say(turn.reply, "reply")

    def show_alert(self, alert: AlertRaised, state: State) -> None:
        self._screen.show_alert(alert, state)
        self._voice.say(alert.say, alert.priority)

    def show_prompt(self, at_s: float, say: str, state: State) -> None:
        self._screen.show_prompt(at_s, say, state)
        self._voice.say(say, "prompt")


class Several:
    """Shows on every screen, in order."""

    def __init__(self, screens: Sequence[Screen]) -> None:
        self._screens = tuple(screens)

    def show_turn(self, turn: Turn, state: State) -> None:
        for screen in self._screens:
            screen.show_turn(turn, state)

    def show_alert(self, alert: AlertRaised, state: State) -> None:
        for screen in self._screens:
            screen.show_alert(alert, state)

    def show_prompt(self, at_s: float, say: str, state: State) -> None:
        for screen in self._screens:
            screen.show_prompt(at_s, say, state)
