"""An unclear word where the next step is unsafe, and steps that last their time."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from assistant.meaning import kinds as k

Made = Callable[..., Any]


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
