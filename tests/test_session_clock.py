"""The session on a clock that runs by itself: a stall, a suspended machine, and alerts that fell due meanwhile."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from assistant.app import Session, setting_for
from assistant.dialogue.turn import Setting, Turn
from assistant.incident.events import AlertRaised, Event
from assistant.incident.state import State
from assistant.meaning.typed import typed
from assistant.oxygen.kit import default_kit


class RunningClock:
    """A machine's clock, as the test moves it."""

    steps = False

    def __init__(self) -> None:
        self.at_s = 0.0

    def now_s(self) -> float:
        return self.at_s


class Order:
    """A screen and a record in one: what happened, in the order in which it happened."""

    def __init__(self) -> None:
        self.happened: list[str] = []

    def append(self, events: Sequence[Event]) -> tuple[int, ...]:
        self.happened += [f"recorded {event.kind}" for event in events]
        return tuple(range(len(events)))

    def show_turn(self, turn: Turn, state: State) -> None:
        self.happened.append("shown turn")

    def show_alert(self, alert: AlertRaised, state: State) -> None:
        self.happened.append(f"shown {alert.alert}")

    def show_prompt(self, at_s: float, say: str, state: State) -> None:
        self.happened.append("shown prompt")


@pytest.fixture(scope="module")
def setting() -> Setting:
    return setting_for(default_kit())


def begun(setting: Setting) -> tuple[Session, RunningClock, Order]:
    clock, order = RunningClock(), Order()
    session = Session(setting, clock, order, record=order)
    session.hear(typed("small cylinder, gauge reads 1500, 15 litres", setting.grammar))
    order.happened.clear()
    return session, clock, order


def test_what_is_shown_was_recorded_first(setting: Setting) -> None:
    session, clock, order = begun(setting)
    clock.at_s = 5.0
    session.hear(typed("sats 89", setting.grammar))
    assert order.happened.index("recorded vital_noted") < order.happened.index("shown turn")
    assert order.happened.index("recorded alert_raised") < order.happened.index("shown saturation_low")


def test_after_a_long_stall_the_worst_comes_at_once_and_nothing_loops(setting: Setting) -> None:
    session, clock, order = begun(setting)
    clock.at_s = 3600.0  # the machine was suspended; the bottle has long been empty
    session.pass_time()
    shown = [h for h in order.happened if h.startswith("shown")]
    assert shown[0] == "shown empty"
    assert len(shown) == len(set(shown)), "each alert once"


def test_an_alert_repeats_until_it_is_acknowledged(setting: Setting) -> None:
    session, clock, order = begun(setting)
    clock.at_s = 3600.0
    session.pass_time()
    order.happened.clear()
    clock.at_s = 3631.0
    session.pass_time()
    assert "shown empty" in order.happened
    session.hear(typed("alarm heard", setting.grammar))
    order.happened.clear()
    clock.at_s = 3700.0
    session.pass_time()
    assert "shown empty" not in order.happened


def test_passing_no_time_says_nothing_twice(setting: Setting) -> None:
    session, clock, order = begun(setting)
    clock.at_s = 300.0
    session.pass_time()
    order.happened.clear()
    session.pass_time()
    assert order.happened == []
