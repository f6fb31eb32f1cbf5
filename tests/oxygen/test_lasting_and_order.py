"""The question turned round: flows that last, when to change, which cylinder first, several patients."""

from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.oxygen.cylinders import PSI_BAR, CylinderSpec
from assistant.oxygen.kit import default_kit
from assistant.oxygen.lasting import Held, LastingError, change_after_min, lasting_flow
from assistant.oxygen.order import OrderError, order_of_use, set_lasts
from assistant.oxygen.supply import SupplyError

KIT = default_kit()
FLOWS = KIT.flows_l_min
# Ten litres per bar and a reserve of zero: the arithmetic can be done in the head.
PLAIN = CylinderSpec(size="plain", factor_l_bar=10.0)


def held(**bars: float) -> list[Held]:
    return [Held(name=name, spec=PLAIN, pressure_bar=bar) for name, bar in bars.items()]


def test_the_flow_that_lasts_until_the_boat() -> None:
    """600 L for 60 min and a fifth more: 8.33 L/min; a non-rebreather takes 10 at the least, so none is offered."""
    answer = lasting_flow(held(a=60), 60, FLOWS, reserve_bar=0, present_l_min=15)
    assert answer.needed_min == 72
    assert answer.flow_l_min == pytest.approx(600 / 72)
    assert [option.flow_l_min for option in answer.options] == [8, 6, 5, 4, 3, 2, 1.5, 1, 0.5]
    assert answer.options[0].minutes == 75
    assert (answer.covered_min, answer.missing_l) == (40, pytest.approx(480))
    masked = lasting_flow(held(a=60), 60, FLOWS, reserve_bar=0, present_l_min=15, device="non_rebreather")
    assert masked.options == ()
    assert masked.missing_l == pytest.approx(480)


def test_nothing_is_missing_where_the_present_flow_lasts() -> None:
    answer = lasting_flow(held(a=100, b=100), 60, FLOWS, reserve_bar=0, present_l_min=15)
    assert (answer.missing_l, answer.covered_min) == (0, 133)
    assert answer.options[0].flow_l_min == 25


@given(
    st.lists(st.floats(min_value=0, max_value=150), min_size=1, max_size=4),
    st.floats(min_value=1, max_value=300),
    st.sampled_from(["nasal_cannula", "simple_mask", "non_rebreather", None]),
)
def test_every_option_lasts_and_the_device_takes_it(bars, minutes, device) -> None:
    have = [Held(name=str(n), spec=PLAIN, pressure_bar=bar) for n, bar in enumerate(bars)]
    answer = lasting_flow(have, minutes, FLOWS, reserve_bar=13, device=device)
    litres = sum(max(0, bar - 13) * 10 for bar in bars)
    for option in answer.options:
        assert option.flow_l_min * minutes * 1.2 <= litres + 1e-6
        assert option.minutes >= int(minutes * 1.2) - 1
        assert option.flow_l_min in FLOWS
    if device == "non_rebreather":
        assert all(10 <= option.flow_l_min <= 15 for option in answer.options)


def test_the_change_is_called_two_minutes_before_the_low_end() -> None:
    """D at 1500 psi and 15 L/min: 11.3 min at the low end, less two."""
    small = KIT.cylinder("small")
    assert small is not None
    at_hand = Held(name="1", spec=small.spec, pressure_bar=1500 * PSI_BAR)
    assert change_after_min(at_hand, 15, reserve_bar=KIT.reserve_bar) == 9
    assert change_after_min(at_hand, 15, reserve_bar=KIT.reserve_bar, change_min=0) == 11
    empty = Held(name="1", spec=small.spec, pressure_bar=0)
    assert change_after_min(empty, 15, reserve_bar=KIT.reserve_bar) == 0
    with pytest.raises(SupplyError, match="change cannot take"):
        change_after_min(at_hand, 15, reserve_bar=13, change_min=-1)


def test_the_order_avoids_a_change_in_the_last_minutes() -> None:
    """At 10 L/min a lasts 50 min and b 25: a first would change at 50 of 55, so b goes first and changes at 25."""
    course = order_of_use(held(a=50, b=25), 10, 55, reserve_bar=0)
    assert [stretch.cylinder for stretch in course.stretches] == ["b", "a"]
    assert (course.covered, course.late_change, course.lasts_min, course.spare) == (True, False, 75, ())
    assert [(stretch.from_min, stretch.to_min) for stretch in course.stretches] == [(0, 25), (25, 75)]


def test_the_order_takes_the_fewest_cylinders_and_the_least_of_them() -> None:
    course = order_of_use(held(a=100, b=60, c=20), 10, 50, reserve_bar=0)
    assert [stretch.cylinder for stretch in course.stretches] == ["b"]
    assert course.spare == ("a", "c")


def test_a_late_change_that_cannot_be_avoided_is_told() -> None:
    course = order_of_use(held(a=50, b=50), 10, 55, reserve_bar=0)
    assert course.late_change
    assert course.covered


def test_a_set_that_does_not_last_is_used_whole_and_said_not_to_last() -> None:
    course = order_of_use(held(a=20, b=30, c=0), 10, 90, reserve_bar=0)
    assert (course.covered, course.lasts_min, course.spare) == (False, 50, ("c",))


@given(
    st.lists(st.integers(min_value=0, max_value=100), min_size=1, max_size=5),
    st.integers(min_value=5, max_value=200).map(lambda minutes: minutes + 0.5),  # never met to the last bit
)
def test_no_other_order_is_better(bars, until) -> None:
    """Against plain enumeration: if any order of any cylinders is quiet and lasts, ours is, with as few changes."""
    course = order_of_use(
        [Held(name=str(n), spec=PLAIN, pressure_bar=bar) for n, bar in enumerate(bars)], 10, until, reserve_bar=0
    )
    quiet_counts = []
    for count in range(1, len(bars) + 1):
        for order in permutations([bar for bar in bars if bar > 0], count):
            ends = [sum(order[: n + 1]) for n in range(count)]
            if ends[-1] >= until and not any(until - 10 < end < until for end in ends):
                quiet_counts.append(count)
    assert course.covered == (sum(bars) >= until)
    if quiet_counts:
        assert not course.late_change
        assert len(course.stretches) == min(quiet_counts)


def test_many_cylinders_are_ordered_too() -> None:
    many = [Held(name=str(n), spec=PLAIN, pressure_bar=10.0) for n in range(12)]
    course = order_of_use(many, 10, 115, reserve_bar=0)
    assert course.covered
    assert len(course.stretches) == 12


def test_a_set_for_two_patients() -> None:
    """1000, 500 and 500 L for 10 and 10 L/min: the large one to one patient, both small ones to the other."""
    sharing = set_lasts(held(a=100, b=50, c=50), [10, 10], reserve_bar=0)
    assert sorted(map(sorted, sharing.cylinders)) == [["a"], ["b", "c"]]
    assert (sharing.minutes, sharing.moved_min) == (100, 100)


@given(
    st.lists(st.floats(min_value=0, max_value=150), min_size=1, max_size=6),
    st.lists(st.floats(min_value=1, max_value=15), min_size=1, max_size=3),
)
def test_moving_cylinders_is_never_worse_and_every_cylinder_is_shared_out_once(bars, flows) -> None:
    have = [Held(name=str(n), spec=PLAIN, pressure_bar=bar) for n, bar in enumerate(bars)]
    sharing = set_lasts(have, flows, reserve_bar=0)
    assert sharing.minutes <= sharing.moved_min
    assert sorted(name for names in sharing.cylinders for name in names) == [one.name for one in have]
    if len(flows) == 1:
        assert sharing.minutes == sharing.moved_min


def test_a_large_set_is_shared_out_fullest_first() -> None:
    many = [Held(name=str(n), spec=PLAIN, pressure_bar=10.0 + n) for n in range(20)]
    sharing = set_lasts(many, [5, 10], reserve_bar=0)
    assert sharing.moved_min - sharing.minutes <= 0.1 * sharing.moved_min


@pytest.mark.parametrize("minutes", [0, -5, float("nan")])
def test_times_that_cannot_be_are_refused_in_words(minutes) -> None:
    with pytest.raises(LastingError, match="minutes until hand-over"):
        lasting_flow(held(a=50), minutes, FLOWS, reserve_bar=0)
    with pytest.raises(OrderError, match="minutes until hand-over"):
        order_of_use(held(a=50), 10, minutes, reserve_bar=0)


def test_other_refusals() -> None:
    with pytest.raises(LastingError, match="margin"):
        lasting_flow(held(a=50), 10, FLOWS, reserve_bar=0, margin=5)
    with pytest.raises(OrderError, match="flow for each patient"):
        set_lasts(held(a=50), [], reserve_bar=0)
    with pytest.raises(OrderError, match="flow above zero"):
        set_lasts(held(a=50), [0.0], reserve_bar=0)
