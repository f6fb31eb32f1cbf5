"""Our scenario replayed on the simulated clock: every alert of the watch, to the second."""

from __future__ import annotations

import sys
from pathlib import Path

from assistant.app import Session, SetClock, setting_for
from assistant.dialogue.turn import Turn
from assistant.incident.events import AlertRaised
from assistant.incident.state import State
from assistant.meaning.typed import typed
from assistant.oxygen.kit import default_kit

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

SCENARIO = Path(__file__).with_name("watch_marsh_island.toml")


class Kept:
    """A screen that keeps the alerts."""

    def __init__(self) -> None:
        self.alerts: list[AlertRaised] = []

    def show_turn(self, turn: Turn, state: State) -> None:
        assert turn.outcome == "taken", turn.heard

    def show_alert(self, alert: AlertRaised, state: State) -> None:
        self.alerts.append(alert)

    def show_prompt(self, at_s: float, say: str, state: State) -> None: ...


def test_every_alert_comes_to_the_second() -> None:
    clock, kept = SetClock(), Kept()
    session = Session(setting_for(default_kit()), clock, kept)
    scenario = tomllib.loads(SCENARIO.read_text(encoding="utf-8"))
    for line in scenario["said"]:
        clock.set(line["at_s"])
        session.hear(typed(line["says"], session.setting.grammar))
    came = [(round(a.at_s), a.priority, a.alert, a.say) for a in kept.alerts]
    assert came == [(a["at_s"], a["priority"], a["alert"], a["say"]) for a in scenario["alert"]]
