"""What the narrow and the wide screens show of an incident, word for word."""

from __future__ import annotations

from typing import Any

import pytest

from assistant.app import Session, SetClock, setting_for
from assistant.meaning.typed import typed
from assistant.oxygen.kit import default_kit
from assistant.quantity import Measure
from assistant.screens.completing import next_words
from assistant.screens.level import level_bar
from assistant.screens.supply_line import next_alert_text, pressure_shown, supply_lines
from assistant.screens.web.curves import curves
from assistant.screens.web.snapshot import snapshot

SETTING = setting_for(default_kit())


class Unseen:
    def show_turn(self, turn: Any, state: Any) -> None: ...
    def show_alert(self, alert: Any, state: Any) -> None: ...
    def show_prompt(self, at_s: float, say: str, state: Any) -> None: ...


def after(*said: tuple[float, str]) -> Session:
    clock = SetClock()
    session = Session(SETTING, clock, Unseen())
    for at_s, text in said:
        clock.set(at_s)
        session.hear(typed(text, SETTING.grammar))
    return session


# (1500 - 200) psi x 0.16 L/psi / 15 L/min = 13.9 min to the reserve: the contract's own example.
SENTENCE = "bottle reads 1500, small cylinder, 15 litres"


def test_the_line_below_the_prompt() -> None:
    state = after((0.0, SENTENCE)).state
    [line] = supply_lines(state, 0.0, 300.0)
    assert line == "13 min to reserve | 1500 psi | next alert 5 min | 15 L/min"


def test_after_a_minute_the_pressure_is_an_estimate_rounded_down() -> None:
    # 15 L at 0.16 L/psi are 93.75 psi: 1406.25 psi are left.
    state = after((0.0, SENTENCE)).state
    [line] = supply_lines(state, 60.0, 75.0)
    assert line == "12 min to reserve | 1400 psi est. | next alert 15 s", "the flow does not fit into 60 columns"


def test_what_does_not_fit_is_left_out_and_the_minutes_stay() -> None:
    state = after((0.0, SENTENCE)).state
    assert supply_lines(state, 60.0, 300.0, width=40) == ("12 min to reserve | 1400 psi est.",)
    assert supply_lines(state, 60.0, 300.0, width=10) == ("12 min to ",)


def test_what_is_not_known_is_asked_for_and_not_made_up() -> None:
    state = after((0.0, "15 litres")).state
    assert supply_lines(state, 1.0, float("inf")) == ("minutes not known | 15 L/min | size? | gauge?",)


@pytest.mark.parametrize(
    ("pressure", "estimated", "shown"),
    [
        (Measure(value=1406.25, unit="psi"), True, "1400"),
        (Measure(value=1409.99, unit="psi"), True, "1400"),
        (Measure(value=1410.0, unit="psi"), True, "1410"),
        (Measure(value=96.9, unit="bar"), True, "96"),
        (Measure(value=9.69, unit="MPa"), True, "9.6"),
        (Measure(value=1425.0, unit="psi"), False, "1425"),
    ],
)
def test_an_estimate_is_never_rounded_up(pressure: Measure, estimated: bool, shown: str) -> None:
    assert pressure_shown(pressure, estimated=estimated) == shown


def test_when_the_next_alert_is() -> None:
    assert next_alert_text(float("inf"), 0.0) == ""
    assert next_alert_text(90.0, 31.0) == "next alert 59 s"
    assert next_alert_text(10.0, 31.0) == "next alert 0 s"


@pytest.mark.parametrize(
    ("level", "bar"), [(-90.0, "[..........]"), (-35.0, "[#####.....]"), (-6.0, "[##########]"), (0.0, "[#########!]")]
)
def test_the_level_bar(level: float, bar: str) -> None:
    assert level_bar(level) == bar


def test_completion_takes_a_numeral_for_a_number() -> None:
    follows = {("gauge", "reads", "fifteen", "hundred"): ("small", "psi"), ("gauge",): ("reads", "reading", "[unk]")}
    words, begun = next_words("Gauge re", lambda said: follows.get(tuple(said), ()))
    assert (words, begun) == (("reads", "reading"), "re")
    words, begun = next_words("gauge reads 1500, ", lambda said: follows.get(tuple(said), ()))
    assert (words, begun) == (("small", "psi"), "")


def test_the_page_is_told_what_is_known() -> None:
    session = after((0.0, SENTENCE), (5.0, "boat in 70 minutes"), (9.0, "start set up"))
    shown = snapshot(session.state, 65.0, 125.0, SETTING, None)
    [supply] = shown["supplies"]
    assert (supply["minutes"], supply["pressure"], supply["unit"], supply["estimated"]) == (12, "1390", "psi", True)
    assert (supply["reserve"], supply["flow"], supply["called"], supply["size"]) == ("200", "15", "small", "D")
    assert supply["low"] < supply["minutes"] < supply["high"]
    assert shown["handover_min"] == 69.0
    assert shown["next_alert_s"] == 60
    assert shown["alert"]["kind"] == "handover_not_covered"
    assert shown["step"]["procedure"] == "Set-up"
    assert shown["trouble"] is None


def test_the_page_is_told_of_nothing_that_is_not_known() -> None:
    shown = snapshot(after().state, 0.0, float("inf"), SETTING, "the disk is full")
    assert shown["next_alert_s"] is None
    assert shown["alert"] is None
    assert shown["trouble"] == "the disk is full"
    assert all(each["minutes"] is None and each["pressure"] is None for each in shown["supplies"])


def test_the_curves_begin_with_a_reading_and_go_down_to_the_reserve() -> None:
    session = after((0.0, SENTENCE), (300.0, "gauge reads 1050"))
    chart = curves(session.state, session.incident.events, 360.0)
    [cylinder] = chart["cylinders"]
    assert [round(pressure) for _, pressure in cylinder["readings"]] == [1500, 1050]
    times = [point[0] for point in cylinder["ahead"]]
    pressures = [point[1] for point in cylinder["ahead"]]
    assert times == sorted(times)
    assert pressures == sorted(pressures, reverse=True)
    assert pressures[-1] < chart["reserve"] < pressures[0]
    assert all(low <= middle <= high for _, middle, low, high in cylinder["ahead"])
