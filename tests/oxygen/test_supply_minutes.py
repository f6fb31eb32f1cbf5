"""Minutes: the laws they obey, the worked example, the calibration of the interval, and what is refused."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from assistant.oxygen.cylinders import PSI_BAR, CylinderError, CylinderSpec
from assistant.oxygen.kit import default_kit
from assistant.oxygen.supply import (
    Interval,
    SupplyError,
    float_tolerance,
    flow_tolerance,
    gauge_limit_bar,
    minutes_to,
    pressure_needed_bar,
    spoken_minutes,
    spoken_range,
)
from assistant.quantity import convert
from tests.oxygen.calibration import cases, covered_share

D = CylinderSpec(size="D", water_capacity_l=2.45, factor_l_bar=0.16 / PSI_BAR)
TWO_LITRES = CylinderSpec(size="2 L", water_capacity_l=2.0, service_bar=200.0)
specs = st.sampled_from((D, TWO_LITRES, CylinderSpec(size="own", factor_l_bar=3.0)))
bars = st.floats(min_value=20, max_value=200)
flows = st.floats(min_value=0.5, max_value=50)
temperatures = st.none() | st.floats(min_value=-30, max_value=50)


def test_the_worked_example_of_the_default_kit() -> None:
    kit = default_kit()
    small = kit.cylinder("small")
    assert small is not None
    interval = minutes_to(small.spec, 1500 * PSI_BAR, kit.reserve_bar, 15, gauge_accuracy_bar=kit.gauge_accuracy_bar)
    assert interval.expected == pytest.approx(13.87, abs=0.005)
    assert interval.low == pytest.approx(11.2, abs=0.15)
    assert interval.high == pytest.approx(16.9, abs=0.15)
    assert spoken_minutes(interval) == 13


@given(specs, bars, st.floats(min_value=0.1, max_value=50), flows, temperatures)
def test_more_pressure_never_gives_fewer_minutes(spec, bar, more, flow, celsius) -> None:
    less, greater = (minutes_to(spec, at, 10, flow, celsius=celsius) for at in (bar, bar + more))
    assert greater.expected > less.expected
    assert spoken_minutes(greater) >= spoken_minutes(less)
    assert greater.low >= less.low - 1e-3
    assert greater.high >= less.high - 1e-3


@given(specs, bars, flows, temperatures)
def test_halving_the_flow_doubles_the_minutes(spec, bar, flow, celsius) -> None:
    whole, half = (minutes_to(spec, bar, 10, rate, celsius=celsius) for rate in (flow, flow / 2))
    assert half.expected == pytest.approx(2 * whole.expected)
    assert half.real_gas == pytest.approx(2 * whole.real_gas)


@given(specs, st.floats(min_value=300, max_value=2900), flows)
def test_psi_and_bar_agree(spec, psi, flow) -> None:
    by_psi = minutes_to(spec, convert(psi, "psi", "bar"), convert(200, "psi", "bar"), flow)
    by_bar = minutes_to(spec, psi * 0.0689475729316836, 200 * 0.0689475729316836, flow)
    assert by_psi.expected == pytest.approx(by_bar.expected, rel=1e-9)


@given(specs, bars, st.floats(min_value=0.01, max_value=0.99), flows, temperatures)
def test_splitting_the_use_in_two_gives_the_same(spec, bar, share, flow, celsius) -> None:
    between = 10 + share * (bar - 10)
    whole = minutes_to(spec, bar, 10, flow, celsius=celsius).expected
    parts = [minutes_to(spec, a, b, flow, celsius=celsius).expected for a, b in ((bar, between), (between, 10))]
    assert sum(parts) == pytest.approx(whole)


@given(specs, bars, flows, temperatures, st.floats(min_value=0, max_value=15))
def test_the_interval_holds_what_is_expected(spec, bar, flow, celsius, accuracy) -> None:
    interval = minutes_to(spec, bar, 10, flow, celsius=celsius, gauge_accuracy_bar=accuracy)
    assert 0 <= interval.low <= interval.expected <= interval.high


@given(specs, bars, flows, st.floats(min_value=1, max_value=7))
def test_a_coarser_gauge_never_narrows_the_interval(spec, bar, flow, accuracy) -> None:
    fine, coarse = (minutes_to(spec, bar, 10, flow, gauge_accuracy_bar=bars) for bars in (accuracy, 2 * accuracy))
    assert coarse.low <= fine.low + 1e-3 * fine.expected


@given(specs, st.floats(min_value=1, max_value=300), flows, temperatures)
def test_the_gauge_needed_lasts_as_long_as_asked(spec, minutes, flow, celsius) -> None:
    assume(minutes * flow < 400)
    bar = pressure_needed_bar(spec, minutes, flow, 10, celsius=celsius)
    assert minutes_to(spec, bar, 10, flow, celsius=celsius).expected == pytest.approx(minutes, rel=1e-6)


def test_at_and_below_the_reserve_there_is_no_time() -> None:
    for bar in (0, 5, 10):
        interval = minutes_to(D, bar, 10, 15)
        assert (interval.expected, interval.low, interval.high, spoken_minutes(interval)) == (0, 0, 0, 0)


@pytest.mark.parametrize("case", cases(), ids=str)
def test_nine_of_ten_true_times_lie_inside(case) -> None:
    """40,000 trials: the standard error of a share near 0.9 is 0.0015, so 0.88 to 0.92 is a sharp test."""
    assert 0.88 <= covered_share(case, trials=40_000, seed=7) <= 0.92


@pytest.mark.parametrize("case", cases(), ids=str)
def test_errors_spread_evenly_to_their_limits_are_covered_too(case) -> None:
    """The shape is not known, only the limits: with rectangular errors the interval is a little too wide at times."""
    assert 0.88 <= covered_share(case, trials=40_000, seed=7, shape="rectangular") <= 0.94


def test_an_interval_that_forgets_the_gauge_is_seen_to_be_too_narrow() -> None:
    blind = [covered_share(case, trials=20_000, seed=7, shape="normal", believed_bar=0.0) for case in cases()]
    assert min(blind) < 0.85


def test_a_wide_interval_is_told_as_a_range() -> None:
    near_reserve = minutes_to(D, 320 * PSI_BAR, 200 * PSI_BAR, 2)
    told = spoken_range(near_reserve)
    assert told is not None
    assert told[0] < told[1] <= near_reserve.expected
    assert spoken_range(minutes_to(D, 1500 * PSI_BAR, 200 * PSI_BAR, 15)) is None


@given(st.floats(min_value=0, max_value=10_000), st.floats(min_value=0, max_value=10_000))
def test_spoken_minutes_are_rounded_down(expected, real) -> None:
    spoken = spoken_minutes(Interval(expected=expected, low=0, high=expected, real_gas=real))
    assert spoken <= min(expected, real) + 1e-9
    assert spoken > min(expected, real) - 1


def test_tolerances() -> None:
    assert flow_tolerance(1.5) == 0.30
    assert flow_tolerance(2) == 0.20
    assert float_tolerance(10, 15) == 0.10
    assert float_tolerance(2, 15) == 0.25
    assert gauge_limit_bar(2.5, 315) == pytest.approx(7.875)
    with pytest.raises(SupplyError, match="not rated"):
        float_tolerance(1, 15)
    with pytest.raises(SupplyError, match="gauge class"):
        gauge_limit_bar(40, 315)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"flow_l_min": 0}, "no flow"),
        ({"flow_l_min": -2}, "no flow"),
        ({"flow_l_min": float("nan")}, "no flow"),
        ({"flow_l_min": 101}, "more than any regulator gives"),
        ({"pressure_bar": -1}, "cannot read below zero"),
        ({"pressure_bar": 500}, "more than any oxygen cylinder holds"),
        ({"to_bar": -1}, "reserve cannot be below zero"),
        ({"gauge_accuracy_bar": -1}, "accuracy cannot be below zero"),
        ({"celsius": 95}, "outside what I can reckon with"),
    ],
)
def test_what_cannot_be_is_refused_in_words(change, said) -> None:
    usual = {"pressure_bar": 100.0, "to_bar": 10.0, "flow_l_min": 15.0}
    with pytest.raises(ValueError, match=said):
        minutes_to(D, **{**usual, **change})


@pytest.mark.parametrize(
    "given_values",
    [
        {},
        {"water_capacity_l": -1.0},
        {"factor_l_bar": 0.0},
        {"water_capacity_l": float("inf")},
        {"water_capacity_l": 2.0, "service_bar": 2000.0},
    ],
)
def test_a_cylinder_that_cannot_be(given_values) -> None:
    with pytest.raises(CylinderError):
        CylinderSpec(size="none", **given_values)
