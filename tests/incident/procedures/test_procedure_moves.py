"""Moves by voice: starting, going on, back, starting at a step, skipping."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

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
