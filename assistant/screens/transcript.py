"""The conversation as a person reads it: who said what when, alerts by sign and word and not by colour alone.

Wide and coloured in a terminal, plain lines where it is piped.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from assistant.dialogue.supply_now import SupplyNow, supplies
from assistant.dialogue.turn import Turn
from assistant.incident.events import AlertRaised
from assistant.incident.state import State
from assistant.oxygen.supply import spoken_minutes

if TYPE_CHECKING:
    from rich.console import Console

_SIGN = {"high": "!!!", "medium": "!! ", "low": "!  "}
_STYLE = {"high": "bold red", "medium": "bold yellow", "low": "cyan"}


def clock_text(at_s: float) -> str:
    """Time since the incident began, as h:mm:ss."""
    whole = int(at_s)
    return f"{whole // 3600}:{whole % 3600 // 60:02d}:{whole % 60:02d}"


class Transcript:
    """A screen that prints the conversation line by line."""

    def __init__(self, console: Console, *, supply_line: bool = True) -> None:
        self._console = console
        self._supply_line = supply_line

    def show_turn(self, turn: Turn, state: State) -> None:
        if turn.outcome == "ignored":
            self._line(turn.at_s, "heard", f"({turn.heard or 'silence'}) not for the assistant", "dim")
            return
        self._line(turn.at_s, "medic", turn.heard, "bold")
        self._line(turn.at_s, _VOICE[turn.outcome], turn.reply, "green" if turn.outcome == "taken" else "yellow")
        if self._supply_line:
            for now in supplies(state, turn.at_s):
                if now.patient is not None and now.minutes is not None:
                    self._console.print(f"{'':>16}  {supply_text(now)}", style="dim", highlight=False, soft_wrap=True)

    def show_alert(self, alert: AlertRaised, state: State) -> None:
        self._line(alert.at_s, f"{_SIGN[alert.priority]}alert", alert.say, _STYLE[alert.priority])

    def show_prompt(self, at_s: float, say: str, state: State) -> None:
        self._line(at_s, "voice", say, "green")

    def show_error(self, line: int, why: str) -> None:
        """An input line that could not be read."""
        self._console.print(f"line {line}: {why}", style="red", markup=False, highlight=False)

    def _line(self, at_s: float, who: str, text: str, style: str) -> None:
        from rich.text import Text

        line = Text(f"{clock_text(at_s):>7}  {who:<8} ")
        line.append(text, style=style)
        self._console.print(line, soft_wrap=True)


_VOICE = {"taken": "voice", "asked": "voice ?", "refused": "voice x"}


def supply_text(now: SupplyNow) -> str:
    """One cylinder in a line: minutes to reserve with their interval, pressure and flow."""
    if now.minutes is None:
        return f"bottle {now.cylinder}"
    span = f"{int(now.minutes.low)}-{int(now.minutes.high)}"
    minutes = f"{spoken_minutes(now.minutes)} min to reserve (90 %: {span})"
    pressure = "" if now.pressure is None else f", {now.pressure.value:g} {now.pressure.unit}"
    return f"bottle {now.cylinder}: {minutes}{pressure}, {now.flow_l_min:g} L/min"
