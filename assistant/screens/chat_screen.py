"""The typed conversation as plain lines of text for any terminal: no colour, wrapped, alerts with sign, word and bell.

Takes what the session shows, writes lines by the `write` it is given.
"""

from __future__ import annotations

from collections.abc import Callable
from textwrap import wrap

from assistant.dialogue.turn import Turn
from assistant.incident.events import AlertRaised
from assistant.incident.state import State
from assistant.screens.transcript import clock_text

_SIGN = {"high": "!!!", "medium": "!!", "low": "!"}
_VOICE = {"taken": "", "asked": "", "refused": "not taken: "}
NARROWEST = 24


class ChatScreen:
    """Lines for a terminal `width()` columns wide; `echo` shows what was heard, where it was not typed."""

    def __init__(self, write: Callable[[str], None], width: Callable[[], int], *, echo: bool = False) -> None:
        self._write = write
        self._width = width
        self._echo = echo

    def show_turn(self, turn: Turn, state: State) -> None:
        if turn.outcome == "ignored":
            heard = f'"{turn.heard}"' if turn.heard else "nothing"
            self._lines(turn.at_s, f"({heard}: not for the assistant. Try: what can I say)")
            return
        if self._echo:
            self._lines(turn.at_s, f"you: {turn.heard}")
        self._lines(turn.at_s, f"{_VOICE[turn.outcome]}{turn.reply}")

    def show_alert(self, alert: AlertRaised, state: State) -> None:
        sign = _SIGN[alert.priority]
        self._lines(alert.at_s, f"{sign} ALERT {sign} {alert.say}", bell=alert.priority != "low")

    def show_prompt(self, at_s: float, say: str, state: State) -> None:
        self._lines(at_s, say)

    def tell(self, line: str) -> None:
        """A line for the user that is no part of the conversation."""
        self._write("\n".join(wrap(f"* {line}", max(NARROWEST, self._width() - 1), subsequent_indent="  ")))

    def _lines(self, at_s: float, text: str, *, bell: bool = False) -> None:
        stamp = f"{clock_text(at_s)} "
        width = max(NARROWEST, self._width() - 1)
        lines = wrap(text, width, initial_indent=stamp, subsequent_indent=" " * len(stamp)) or [stamp]
        self._write(("\a" if bell else "") + "\n".join(lines))
