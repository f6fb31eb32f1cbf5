"""What a procedure leaves in the state and the record, and how trouble comes back to it."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from assistant.incident.events_json import event_from_json, event_to_json
from assistant.incident.fold import folded

Made = Callable[..., Any]


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
