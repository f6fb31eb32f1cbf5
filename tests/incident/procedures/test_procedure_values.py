"""Values said in passing, and those that are refused: a step's own, given ahead, too low, too little."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

Made = Callable[..., Any]


def test_a_step_says_what_it_waits_for(rescuer: Made) -> None:
    one = rescuer("start set_up").goes_to("leak")
    assert one.move.asks == "answer"
    one.says("no")
    assert one.move.asks == "gauge_reading"


def test_done_without_the_value_asks_for_it(rescuer: Made) -> None:
    one = rescuer("start set_up").goes_to("gauge")
    one.says("done")
    assert (one.move.outcome, one.said, one.step) == ("asked", "What does the gauge read?", "gauge")


def test_done_at_a_question_asks_yes_or_no(rescuer: Made) -> None:
    one = rescuer("start set_up").goes_to("leak")
    one.says("done")
    assert (one.move.outcome, one.step) == ("asked", "leak")
    assert one.said == "Yes or no? Any hissing, yes or no?"


def test_a_value_said_with_done_is_taken(rescuer: Made) -> None:
    one = rescuer("device simple_mask", "start set_up").goes_to("gauge")
    one.says("done, gauge 1900")
    assert one.step == "tubing"


def test_a_value_given_ahead_of_its_step_is_not_asked_again(rescuer: Made) -> None:
    one = rescuer("device simple_mask", "start set_up").goes_to("open_fully")
    one.says("done, gauge 1900")
    one.says("no", after_s=12)
    assert one.step == "tubing", "the gauge was read after the valve was opened"


def test_a_reading_from_before_the_valve_was_opened_does_not_count(rescuer: Made) -> None:
    one = rescuer("gauge 1900", "start set_up").goes_to("gauge")
    assert one.step == "gauge"


def test_a_low_reading_given_ahead_is_judged_when_its_step_comes(rescuer: Made) -> None:
    one = rescuer("device simple_mask", "start set_up").goes_to("open_fully")
    one.says("done, gauge 150")
    one.says("no", after_s=12)
    assert (one.move.outcome, one.step) == ("refused", "gauge")


def test_yes_done_answers_the_question_in_hand(rescuer: Made) -> None:
    one = rescuer("start set_up").goes_to("washer")
    one.says("done, yes")
    assert one.step == "flow_zero"


def test_a_value_that_no_step_waits_for_leaves_the_place(rescuer: Made) -> None:
    one = rescuer("start set_up", "done")
    assert one.says("flow 4") is None
    assert one.place == ("set_up", "flames")


@pytest.mark.parametrize("reading", ["199", "0", "13.7 bar"])
@pytest.mark.parametrize("procedure", ["set_up", "cylinder_change"])
def test_under_200_psi_at_rest_is_refused(rescuer: Made, procedure: str, reading: str) -> None:
    """Common practice, no source: under 200 psi before use, do not use; refill."""
    one = rescuer(f"start {procedure}").goes_to("gauge")
    one.says(f"gauge {reading}")
    assert (one.move.outcome, one.step) == ("refused", "gauge")
    assert one.said == "Too low to begin with: do not use it, refill it. Say start bottle change, or read it again."
    one.says("done")
    assert one.step == "gauge", "it does not go on"


@pytest.mark.parametrize("reading", ["200", "1900", "13.8 bar"])
def test_200_psi_and_more_is_not_refused(rescuer: Made, reading: str) -> None:
    one = rescuer("device simple_mask", "start set_up").goes_to("gauge")
    one.says(f"gauge {reading}")
    assert (one.move.outcome, one.step) == ("taken", "tubing")


def test_a_new_reading_lifts_the_refusal(rescuer: Made) -> None:
    one = rescuer("device simple_mask", "start set_up").goes_to("gauge")
    one.says("gauge 150")
    one.says("gauge 1500")
    assert one.step == "tubing"
    assert [e.move for e in one.events if e.kind == "procedure_moved"].count("refused") == 1


def test_a_reading_put_right_to_one_too_low_leads_back_to_the_gauge(rescuer: Made) -> None:
    one = rescuer("device simple_mask", "start set_up").goes_to("flow")
    one.says("gauge 150")
    assert (one.move.outcome, one.step) == ("refused", "gauge")
    assert one.said.startswith("Too low to begin with")
    one.says("gauge 1500")
    assert one.step == "tubing"


def test_a_low_reading_of_another_bottle_leads_nowhere(rescuer: Made) -> None:
    one = rescuer("device simple_mask", "start set_up").goes_to("flow")
    assert one.says("bottle 2 gauge 150") is None
    assert one.step == "flow"


def test_a_low_reading_before_the_valve_is_open_leads_nowhere(rescuer: Made) -> None:
    one = rescuer("device simple_mask, flow 10, size D", "start cylinder_change").goes_to("warn")
    assert one.says("gauge 150") is None, "it is the old bottle's"


def test_a_refused_bottle_can_be_changed_on_the_spot(rescuer: Made) -> None:
    one = rescuer("device simple_mask", "start set_up").goes_to("gauge")
    one.says("gauge 150")
    one.says("start cylinder_change")
    while one.place[0] == "cylinder_change":
        one.goes_to("gauge") if one.step == "fetch" else None
        from_here = {"gauge": "gauge 1800", "flow": "flow 10", "gas": "yes", "size": "size D"}
        one.says(from_here.get(one.step, "done"))
    assert one.place == ("set_up", "tubing"), "the new bottle's reading counts for the gauge"
    assert one.state.patients["1"].cylinder == "2"


def test_a_low_but_usable_reading_is_cautioned(rescuer: Made) -> None:
    one = rescuer("device simple_mask", "start set_up").goes_to("gauge")
    one.says("gauge 900")
    assert one.said.startswith("Low: keep the next bottle at hand.")
    assert one.move.outcome == "taken"


def test_a_flow_of_nothing_is_refused(rescuer: Made) -> None:
    one = rescuer("device simple_mask", "start set_up").goes_to("flow")
    one.says("flow 0")
    assert (one.move.outcome, one.step) == ("refused", "flow")


def test_a_reservoir_mask_is_not_run_below_six_litres(rescuer: Made) -> None:
    """Auerbach: a non-rebreather not below 6 L/min."""
    one = rescuer("device non_rebreather, flow 10", "problem reservoir_collapses")
    one.says("flow 5")
    assert (one.move.outcome, one.step) == ("refused", "more")
    one.says("flow 6")
    assert one.step == "fills"


def test_every_other_bottle_is_judged_before_leaving(rescuer: Made) -> None:
    one = rescuer("start readiness_check").goes_to("others")
    one.says("bottle 2 gauge 150")
    assert one.said == "Too low to begin with: do not take it, refill it."
    one.says("bottle 3 gauge 1400")
    assert one.said == "Not full: plan for it, or swap it."
    one.says("bottle 4 gauge 2000")
    assert one.step == "others"
    one.says("done")
    assert one.step == "devices"
