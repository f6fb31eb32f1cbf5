"""The order of the steps, checked against what the trade prints.

Sources: Auerbach's Wilderness Medicine (oxygen administration: crack, flow off, ring checked, hand-tight, open slowly,
tubing, flow, mask with its bag filled); Emergency Medical Responder, 9th edition, pp. 176-178; NIOSH F98-23 (valve
aimed away, crack before fitting). "Common practice, no source" where it is only taught.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

Made = Callable[..., Any]


def _met(one: Any) -> list[str]:
    return [e.step for e in one.events if e.kind == "procedure_moved" and e.step]


# (procedure, device, what comes first, what comes after it, source)
ORDER = [
    ("set_up", "hands flames secure label outlet seal crack", "common practice, no source"),
    ("set_up", "outlet crack line_up", "NIOSH F98-23; EMR 9th edition p. 178"),
    ("set_up", "crack washer flow_zero line_up tighten open_key", "Auerbach"),
    ("set_up", "tighten open_key open_fully listen leak gauge", "common practice, no source"),
    ("set_up", "gauge tubing flow gas fill mask bag_stays time", "Auerbach"),
    ("cylinder_change", "fetch label crack warn shut mask_off bleed flow_zero take_off", "common practice, no source"),
    ("cylinder_change", "take_off washer line_up fit open leak gauge flow gas fill on_patient mark", "Auerbach"),
    ("device_change", "tubing flow gas fill mask", "Auerbach"),
    ("take_apart", "patient shut_key bleed needle flow_zero take_off mark", "common practice, no source"),
    (
        "readiness_check",
        "washer flow_zero fit open gauge listen quiet flow zero_again shut hold held bleed zero_last others",
        "common practice, no source",
    ),
]


@pytest.mark.parametrize(("procedure", "steps"), [c[:2] for c in ORDER], ids=[f"{c[0]}: {c[2]}" for c in ORDER])
def test_the_steps_come_in_the_order_the_trade_gives(rescuer: Made, procedure: str, steps: str) -> None:
    one = rescuer("device non_rebreather, flow 10", f"start {procedure}").finishes()
    met = _met(one)
    places = [met.index(step) for step in steps.split()]
    assert places == sorted(places)


@pytest.mark.parametrize(
    ("fitting", "absent", "present"),
    [
        ("yoke", {"screw_on"}, {"crack", "washer", "line_up", "tighten"}),
        ("threaded", {"washer", "line_up"}, {"crack", "screw_on", "tighten"}),
        ("integrated", {"crack", "washer", "line_up", "screw_on", "tighten"}, {"seal", "flow_zero"}),
    ],
)
def test_set_up_follows_the_fitting(rescuer: Made, fitting: str, absent: set[str], present: set[str]) -> None:
    met = set(_met(rescuer("start set_up", fitting=fitting).finishes()))
    assert met >= present
    assert not met & absent


@pytest.mark.parametrize("procedure", ["cylinder_change", "take_apart", "readiness_check"])
def test_an_integrated_valve_is_neither_bled_nor_taken_off(rescuer: Made, procedure: str) -> None:
    """Its gauge shows the bottle though it is shut: waiting for zero would never end."""
    loose = {"bleed", "needle", "take_off", "line_up", "screw_on", "fit", "washer", "hold", "held", "crack"}
    met = set(_met(rescuer(f"start {procedure}", fitting="integrated").finishes()))
    assert met & loose <= ({"bleed"} if procedure == "readiness_check" else set())


def test_an_integrated_valve_is_changed_by_moving_the_tubing(rescuer: Made) -> None:
    one = rescuer("start cylinder_change", fitting="integrated").finishes()
    assert "move_tubing" in _met(one)
    assert one.state.patients["1"].cylinder == "2"


@pytest.mark.parametrize(
    ("valve", "opening", "shutting"),
    [("key", "open_key", "shut_key"), ("lever", "open_lever", "shut_lever"), ("handwheel", "open_wheel", "shut_wheel")],
)
def test_the_valve_is_opened_and_shut_by_what_it_has(rescuer: Made, valve: str, opening: str, shutting: str) -> None:
    ways = {"open_key", "open_lever", "open_wheel", "shut_key", "shut_lever", "shut_wheel"}
    met = {
        *_met(rescuer("start set_up", valve=valve).finishes()),
        *_met(rescuer("start take_apart", valve=valve).finishes()),
    }
    assert met & ways == {opening, shutting}
    assert ("key" in met) == (valve == "key")


@pytest.mark.parametrize(
    ("device", "steps"),
    [
        ("nasal_cannula", {"prongs", "ears"}),
        ("simple_mask", {"mask", "nose_piece"}),
        ("partial_rebreather", {"fill", "mask", "nose_piece", "bag_stays"}),
        ("non_rebreather", {"fill", "mask", "nose_piece", "bag_stays"}),
        ("venturi_mask", {"venturi", "mask", "nose_piece"}),
        ("bag_valve_mask", {"bag_mask"}),
    ],
)
def test_each_device_goes_on_in_its_own_way(rescuer: Made, device: str, steps: set[str]) -> None:
    own = {"prongs", "ears", "mask", "nose_piece", "fill", "bag_stays", "venturi", "bag_mask"}
    met = set(_met(rescuer("start set_up").finishes(device=f"device {device}")))
    assert met & own == steps


def test_the_device_is_asked_only_where_it_is_not_known(rescuer: Made) -> None:
    assert "device" in _met(rescuer("start set_up").finishes())
    assert "device" not in _met(rescuer("device simple_mask", "start set_up").finishes())


# Steps that must not begin on a "done" that was not surely heard, and steps that cannot be skipped.
@pytest.mark.parametrize(
    ("procedure", "step"),
    [
        ("set_up", "crack"),
        ("set_up", "open_key"),
        ("set_up", "mask"),
        ("cylinder_change", "crack"),
        ("cylinder_change", "shut"),
        ("cylinder_change", "take_off"),
        ("cylinder_change", "open"),
        ("device_change", "mask"),
        ("take_apart", "patient"),
        ("take_apart", "take_off"),
        ("readiness_check", "open"),
        ("hissing", "open"),
        ("no_flow", "open"),
        ("regulator_loose", "open"),
        ("washer_missing", "open"),
    ],
)
def test_what_opens_a_valve_or_loosens_a_regulator_is_marked_unsafe(procedures: Any, procedure: str, step: str) -> None:
    assert procedures[procedure].steps[step].confirm
