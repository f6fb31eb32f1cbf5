"""Moves by voice, values in passing, refusals, unclear words, time, and what a procedure leaves in the state."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from assistant.incident.events_json import event_from_json, event_to_json
from assistant.incident.fold import folded
from assistant.meaning import kinds as k

Made = Callable[..., Any]


def test_starting_says_the_name_and_the_first_step(rescuer: Made) -> None:
    one = rescuer("start set_up")
    assert one.said == "Set-up. Check hands and gloves: clean, dry, no oil or grease."
    assert one.place == ("set_up", "hands")


@pytest.mark.parametrize("name", ["set_up", "set-up", "Set up"])
def test_a_procedure_is_known_by_name_or_title(rescuer: Made, name: str) -> None:
    assert rescuer(f"start {name}").place == ("set_up", "hands")


def test_an_unknown_procedure_is_answered_with_those_there_are(rescuer: Made) -> None:
    one = rescuer("start tea")
    assert (one.move.outcome, one.move.events, one.place) == ("asked", (), None)
    assert "readiness check" in one.said


def test_done_and_next_go_on(rescuer: Made) -> None:
    one = rescuer("start set_up", "done", "next")
    assert one.place == ("set_up", "secure")
    assert one.said == "Secure the bottle so it cannot fall or roll."


def test_repeat_says_the_step_again_and_stays(rescuer: Made) -> None:
    one = rescuer("start set_up", "done", "repeat")
    assert one.said == "Keep flames, sparks and cigarettes well away."
    assert one.move.events == ()


def test_back_goes_through_the_steps_gone_through(rescuer: Made) -> None:
    one = rescuer("start set_up", "done", "done", "done", "size D", "back", "back")
    assert one.place == ("set_up", "flames")
    one.says("done")
    assert one.place == ("set_up", "secure")


def test_back_at_the_first_step_says_so(rescuer: Made) -> None:
    one = rescuer("start set_up", "back")
    assert one.said.startswith("This is the first step.")
    assert one.place == ("set_up", "hands")


def test_where_was_i(rescuer: Made) -> None:
    one = rescuer("start set_up", "done", "where")
    assert one.said == "Set-up. Keep flames, sparks and cigarettes well away."
    assert one.move.events == ()


def test_how_many_more_counts_down_to_the_last(rescuer: Made) -> None:
    one = rescuer("device non_rebreather, size D", "start set_up", "left")
    first = int(one.said.split()[0])
    one.says("done")
    one.says("left")
    assert int(one.said.split()[0]) == first - 1
    one.goes_to("bag_stays")
    one.says("left")
    assert one.said == "1 more step after this one."
    one.says("yes")
    one.says("left")
    assert one.said == "This is the last step."


def test_a_question_about_the_place_counts_the_steps_that_are_in_fact_met(rescuer: Made) -> None:
    one = rescuer("device simple_mask, size D", "start take_apart", "left")
    promised = int(one.said.split()[0])
    one.finishes()
    met = [e for e in one.events if e.kind == "procedure_moved" and e.step]
    assert len(met) - 1 == promised


def test_stop_ends_the_procedure(rescuer: Made) -> None:
    one = rescuer("start set_up", "done", "stop")
    assert (one.said, one.place) == ("Set-up stopped.", None)


def test_stop_in_a_trouble_path_goes_back_to_the_step(rescuer: Made) -> None:
    one = rescuer("start set_up", "done", "problem hissing", "stop")
    assert one.place == ("set_up", "flames")
    assert one.said == "Leak stopped. Back to Set-up. Keep flames, sparks and cigarettes well away."


@pytest.mark.parametrize(
    "line", ["done", "next", "back", "repeat", "skip no time", "stop", "where", "left", "start at gauge x"]
)
def test_without_a_procedure_a_move_is_refused_in_words(rescuer: Made, line: str) -> None:
    one = rescuer(line)
    assert (one.move.outcome, one.move.events) == ("refused", ())
    assert "start set-up" in one.said


# --- start at a step ------------------------------------------------------------------------------------------------


def test_start_from_the_regulator_without_a_procedure(rescuer: Made) -> None:
    one = rescuer("start at regulator")
    assert one.place == ("set_up", "line_up")
    assert "Earlier steps are not checked." in one.said


def test_start_a_procedure_at_a_step(rescuer: Made) -> None:
    assert rescuer("start take_apart at needle").place == ("take_apart", "needle")


def test_start_at_an_earlier_step_goes_back(rescuer: Made) -> None:
    one = rescuer("start set_up").goes_to("leak")
    one.says("start at regulator")
    assert one.place == ("set_up", "line_up")
    assert one.events[-1].move == "back"


def test_start_at_a_later_step_is_recorded_as_skipped(rescuer: Made) -> None:
    one = rescuer("start set_up").goes_to("secure")
    one.says("start at label")
    assert one.place == ("set_up", "label")
    assert (one.events[-1].move, one.events[-1].reason) == ("skipped", "started from label")
    assert "Steps between are not checked." in one.said


def test_start_at_a_later_step_does_not_pass_one_that_must_be_done(rescuer: Made) -> None:
    one = rescuer("start set_up", "start at gauge")
    assert (one.move.outcome, one.place) == ("refused", ("set_up", "hands"))
    assert "Oil or grease can burn in oxygen." in one.said


def test_start_at_an_unknown_step(rescuer: Made) -> None:
    one = rescuer("start set_up", "start at moon")
    assert (one.move.outcome, one.said, one.place) == ("refused", "No such step in Set-up.", ("set_up", "hands"))


def test_a_place_that_the_kit_does_not_have_leads_to_the_next_that_it_has(rescuer: Made) -> None:
    assert rescuer("start at valve", valve="lever").place == ("set_up", "open_lever")


# --- skipping -------------------------------------------------------------------------------------------------------


def test_skip_without_a_reason_asks_for_it(rescuer: Made) -> None:
    one = rescuer("start set_up").goes_to("secure")
    one.says("skip")
    assert (one.move.outcome, one.place) == ("asked", ("set_up", "secure"))
    assert one.said == "Say skip with the reason. Already done, not needed, not fitted, no time, or not possible."


def test_skip_with_a_reason_goes_on_and_is_recorded(rescuer: Made) -> None:
    one = rescuer("start set_up").goes_to("secure")
    one.says("skip already done")
    assert one.place == ("set_up", "label")
    assert (one.events[-1].move, one.events[-1].reason) == ("skipped", "already done")


@pytest.mark.parametrize(
    ("step", "why"),
    [
        ("hands", "Oil or grease can burn in oxygen."),
        ("washer", "Without a sound washer it leaks."),
        ("open_key", "Opened fast, the regulator can catch fire."),
        ("leak", "A leak empties the bottle unseen."),
        ("gauge", "An unread bottle may be empty."),
        ("gas", "A mask without gas can suffocate."),
        ("fill", "An empty bag gives no oxygen."),
    ],
)
def test_what_keeps_people_safe_cannot_be_skipped(rescuer: Made, step: str, why: str) -> None:
    one = rescuer("start set_up").goes_to(step)
    one.says("skip no time")
    assert (one.move.outcome, one.step) == ("refused", step)
    assert why in one.said


def test_a_skipped_step_puts_nothing_in_force_unless_it_was_done(rescuer: Made) -> None:
    left_out = rescuer("device simple_mask, flow 10", "start set_up").goes_to("flow_zero")
    left_out.says("skip not needed")
    assert left_out.state.patients["1"].flow_l_min == 10.0
    done = rescuer("device simple_mask, flow 10", "start set_up").goes_to("flow_zero")
    done.says("skip already done")
    assert done.state.patients["1"].flow_l_min == 0.0


# --- values ---------------------------------------------------------------------------------------------------------


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


# --- refusals -------------------------------------------------------------------------------------------------------


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


# --- an unclear word ------------------------------------------------------------------------------------------------


def test_an_unclear_done_is_asked_where_the_next_step_is_unsafe(rescuer: Made) -> None:
    one = rescuer("start set_up").goes_to("tighten")
    one.says("done", sure=False)
    assert (one.move.outcome, one.move.events, one.step) == ("asked", (), "tighten")
    assert one.said == "Did you say done?"
    assert one.move.choices == (k.Step(move="done"),)
    one.says("done")
    assert one.step == "open_key"


def test_an_unclear_done_goes_on_where_the_next_step_is_safe(rescuer: Made) -> None:
    one = rescuer("start set_up")
    one.says("done", sure=False)
    assert one.step == "flames"


def test_an_unclear_no_is_asked_where_it_leads_to_an_unsafe_step(rescuer: Made) -> None:
    one = rescuer("start set_up").goes_to("fill")
    one.says("done", sure=False)
    assert (one.move.outcome, one.step) == ("asked", "fill"), "a mask with an empty bag must not go on by mistake"
    loose = rescuer("problem regulator_loose").goes_to("firm")
    loose.says("yes", sure=False)
    assert (loose.said, loose.step) == ("Did you say yes?", "firm")


def test_yes_where_nothing_was_asked_is_an_unclear_done(rescuer: Made) -> None:
    one = rescuer("start set_up", "yes")
    assert one.step == "flames"
    one.goes_to("tighten")
    one.says("yes")
    assert (one.move.outcome, one.step) == ("asked", "tighten")


def test_no_where_nothing_was_asked_stays_and_says_the_step_again(rescuer: Made) -> None:
    one = rescuer("start set_up", "done", "no")
    assert (one.move.outcome, one.step) == ("asked", "flames")
    assert one.said == "Keep flames, sparks and cigarettes well away."


# --- time -----------------------------------------------------------------------------------------------------------


def test_listening_lasts_ten_seconds_and_ends_by_itself(rescuer: Made) -> None:
    one = rescuer("start set_up").goes_to("listen")
    assert one.waits(9.9) is None
    one.waits(0.1)
    assert (one.said, one.step, one.move.asks) == ("Any hissing, yes or no?", "leak", "answer")
    assert one.events[-1].move == "timed"


def test_done_before_the_time_is_up_says_how_much_is_left(rescuer: Made) -> None:
    one = rescuer("start set_up").goes_to("listen")
    one.says("done", after_s=4)
    assert (one.said, one.step) == ("6 more seconds.", "listen")
    one.says("next", after_s=1)
    assert one.step == "leak"


def test_an_answer_while_listening_is_taken(rescuer: Made) -> None:
    one = rescuer("start set_up").goes_to("listen")
    one.says("no", after_s=3)
    assert one.step == "gauge"
    one = rescuer("start set_up").goes_to("listen")
    one.says("yes", after_s=3)
    assert one.place[0] == "hissing"


def test_time_moves_nothing_where_no_step_is_timed(rescuer: Made) -> None:
    assert rescuer("start set_up").waits(3600) is None
    assert rescuer().waits(3600) is None


def test_the_gap_of_a_bottle_change_is_told(rescuer: Made) -> None:
    one = rescuer("device non_rebreather, flow 10, gauge 300, size D", "start cylinder_change").goes_to("shut")
    one.says("done")
    began = one.at_s
    for line in (
        "done",
        "done",
        "done",
        "done",
        "yes",
        "done",
        "done",
        "done",
        "no",
        "gauge 1900",
        "flow 10",
        "yes",
        "done",
        "done",
    ):
        one.says(line, after_s=4)
    assert one.at_s - began == 56
    assert "Oxygen was off 56 seconds." in one.said


# --- the state it leaves ---------------------------------------------------------------------------------------------


def test_a_bottle_change_moves_the_supply(rescuer: Made) -> None:
    one = rescuer("device non_rebreather, flow 10, gauge 300, size D", "start cylinder_change").goes_to("fit")
    assert one.state.patients["1"].flow_l_min == 0.0
    one.says("done")
    assert one.state.patients["1"].cylinder == "2"
    one.goes_to("on_patient")
    assert one.state.cylinders["2"].flow_l_min == 10.0
    assert one.state.cylinders["1"].flow_l_min == 0.0
    assert one.state.cylinders["1"].pressure_bar == pytest.approx(300 * 0.0689476, abs=0.01), "its rest is kept"


def test_a_bottle_named_in_passing_is_not_changed_twice(rescuer: Made) -> None:
    one = rescuer("device simple_mask, flow 10, size D", "start cylinder_change").goes_to("fit")
    one.says("swapped 3")
    assert one.state.patients["1"].cylinder == "3"
    assert one.step == "open"


@pytest.mark.parametrize("stops_at", ["leak", "gas"])
def test_the_place_survives_the_record(rescuer: Made, stops_at: str) -> None:
    """What is resumed from the record's text is the same place, with its trouble path and its way back."""
    one = rescuer("device simple_mask", "start set_up").goes_to(stops_at)
    one.says("problem regulator_loose")
    one.says("done")
    written = [json.dumps(event_to_json(event)) for event in one.events]
    again = folded(one.state.kit, enumerate((event_from_json(json.loads(text)) for text in written), start=1))
    assert again.procedure == one.state.procedure
    assert again.procedure.returns[0].step == stops_at


def test_oxygen_off_and_on_is_in_the_record(rescuer: Made) -> None:
    one = rescuer("start set_up").finishes()
    assert [e.text for e in one.events if e.kind == "note_made"] == ["oxygen started"]


def test_trouble_in_trouble_comes_back_through_both(rescuer: Made) -> None:
    one = rescuer("start set_up").goes_to("leak")
    one.says("yes")
    one.says("problem valve_stuck")
    assert one.place == ("valve_stuck", "no_force")
    one.says("stop")
    assert one.place == ("hissing", "shut")
    one.says("stop")
    assert one.place == ("set_up", "leak")


def test_the_same_trouble_twice_does_not_pile_up(rescuer: Made) -> None:
    one = rescuer("start set_up", "problem hissing", "problem valve_stuck", "problem hissing", "stop")
    assert one.place == ("set_up", "hands")


def test_a_missing_washer_found_late_goes_back_to_fitting_the_regulator(rescuer: Made) -> None:
    one = rescuer("start set_up").goes_to("gauge")
    one.says("problem washer_missing")
    for line in ("done", "done", "yes", "done"):
        one.says(line)
    assert one.place == ("set_up", "line_up")


def test_an_unknown_problem_still_gets_a_safe_word(rescuer: Made) -> None:
    one = rescuer("problem smoke")
    assert one.said == "Shut the valve. Take another bottle."


def test_out_of_scope_is_said_at_once_and_the_place_is_kept(rescuer: Made) -> None:
    one = rescuer("start set_up", "done", "problem patient_unresponsive")
    assert one.said == "This is beyond me. Leave me: follow your training now."
    one.says("done")
    assert one.place == ("set_up", "flames")
    assert "I go on counting the oxygen." in one.said
