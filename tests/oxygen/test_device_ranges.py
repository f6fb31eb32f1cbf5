"""Delivery devices: ranges over sources, cautions that name the range, venturi mixing."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.oxygen.device_tables import DEVICES
from assistant.oxygen.devices import (
    DeviceError,
    cautions,
    device_named,
    flow_range,
    oxygen_percent,
    venturi_flow,
)

FLOWS = (0.5, 1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12, 15, 25)
flows = st.floats(min_value=0.1, max_value=40)
names = st.sampled_from(sorted(DEVICES))


@given(names, flows)
def test_out_of_range_and_only_then_there_is_a_caution_that_names_the_range(name: str, flow: float) -> None:
    low, high = flow_range(name)
    low = 6.0 if name == "simple_mask" else low
    found = cautions(name, flow)
    assert bool(found) == (not low <= flow <= high)
    for caution in found:
        assert (caution.low_l_min, caution.high_l_min) == (low, high)
        assert f"{low:g} to {high:g} litres a minute" in caution.say


@pytest.mark.parametrize(
    ("name", "flow", "kinds"),
    [
        ("simple_mask", 4, ["rebreathing", "flow_out_of_range"]),
        ("simple_mask", 6, []),
        ("non_rebreather", 8, ["reservoir", "flow_out_of_range"]),
        ("partial_rebreather", 4, ["reservoir", "flow_out_of_range"]),
        ("bag_valve_mask", 10, ["reservoir", "flow_out_of_range"]),
        ("nasal_cannula", 8, ["flow_out_of_range"]),
        ("non_rebreather", 25, ["flow_out_of_range"]),
        ("simple_mask", 0, []),
    ],
)
def test_the_kinds_of_caution(name: str, flow: float, kinds: list[str]) -> None:
    assert [caution.kind for caution in cautions(name, flow)] == kinds


def test_the_kit_may_set_the_least_flow_of_a_simple_mask() -> None:
    assert cautions("simple_mask", 5, simple_mask_minimum_l_min=5) == ()
    assert cautions("simple_mask", 5) != ()


def test_sources_disagree_and_the_range_holds_them_all() -> None:
    """Brunner 44 % and the rule of three 39 % at 6 L/min on a cannula; Geeky Medics 30-40 and WHO 44-50 on a mask."""
    cannula = oxygen_percent("nasal_cannula", 6)
    assert cannula is not None
    assert (cannula.low, cannula.high, cannula.disagree) == (39, 45, True)
    mask = oxygen_percent("simple_mask", 8)
    assert mask is not None
    assert (mask.low, mask.high, mask.disagree) == (30, 60, True)
    assert oxygen_percent("non_rebreather", 2) is None


@given(names, flows)
def test_a_range_is_a_range_of_percentages(name: str, flow: float) -> None:
    found = oxygen_percent(name, flow)
    if found is not None:
        assert 21 <= found.low <= found.high <= 100
        assert all(row.source for row in found.sources)


def test_a_venturi_gives_what_is_on_its_valve_at_the_flow_of_its_valve() -> None:
    found = oxygen_percent("venturi_mask", 4, 28)
    assert found is not None
    assert (found.low, found.high) == (28, 28)
    assert cautions("venturi_mask", 4, valve_percent=28) == ()
    (caution,) = cautions("venturi_mask", 8, valve_percent=28)
    assert "4 to 6 litres a minute" in caution.say
    assert flow_range("venturi_mask", 31) == flow_range("venturi_mask")


@given(st.integers(min_value=22, max_value=99), flows)
def test_venturi_mixing_keeps_the_oxygen(percent: int, flow: float) -> None:
    mixed = venturi_flow(percent, flow)
    oxygen_l_min = flow + 0.21 * flow * mixed.air_per_oxygen
    assert oxygen_l_min / mixed.total_l_min == pytest.approx(percent / 100)


def test_what_there_is_not_is_refused_in_words() -> None:
    with pytest.raises(DeviceError, match="no device called iron lung"):
        device_named("iron_lung")
    with pytest.raises(DeviceError, match="cannot give 20 percent"):
        venturi_flow(20, 4)
