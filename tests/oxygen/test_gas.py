"""The gas against CoolProp, which holds another equation (Schmidt & Wagner 1985) than ours."""

import pytest
from CoolProp import CoolProp
from hypothesis import given
from hypothesis import strategies as st

from assistant.oxygen import gas

bars = st.floats(min_value=1, max_value=220)
degrees = st.floats(min_value=-30, max_value=50)


def coolprop_litres(bar: float, celsius: float) -> float:
    """Deliverable litres (15 °C, 1 atm) per litre of water by CoolProp."""

    def density(pressure_pa: float, kelvin: float) -> float:
        return float(CoolProp.PropsSI("D", "T", kelvin, "P", pressure_pa, "Oxygen"))

    kelvin = celsius + 273.15
    held = density((bar + 1.01325) * 1e5, kelvin) - density(101325, kelvin)
    return held / density(101325, 288.15)


@given(bars, degrees)
def test_content_is_within_a_fifth_of_a_percent_of_coolprop(bar: float, celsius: float) -> None:
    assert gas.litres_per_water_litre(bar, celsius) == pytest.approx(coolprop_litres(bar, celsius), rel=0.002)


@given(st.floats(min_value=220, max_value=300), degrees)
def test_content_up_to_300_bar_is_within_half_a_percent_of_coolprop(bar: float, celsius: float) -> None:
    assert gas.litres_per_water_litre(bar, celsius) == pytest.approx(coolprop_litres(bar, celsius), rel=0.005)


@given(st.floats(min_value=0, max_value=350), degrees)
def test_gauge_and_content_are_each_others_inverse(bar: float, celsius: float) -> None:
    assert gas.gauge_bar(gas.litres_per_water_litre(bar, celsius), celsius) == pytest.approx(bar, abs=1e-5)


@given(bars, degrees, degrees)
def test_a_warmer_cylinder_reads_higher_and_going_back_reads_the_same(bar: float, was: float, now: float) -> None:
    there = gas.gauge_after(bar, was, now)
    assert (there >= bar - 1e-6) if now >= was else (there <= bar + 1e-6)
    if there > 0:
        assert gas.gauge_after(there, now, was) == pytest.approx(bar, abs=1e-4)


@given(bars, degrees, st.floats(min_value=0.5, max_value=40))
def test_a_hotter_cylinder_gives_less_for_the_same_reading(bar: float, celsius: float, hotter: float) -> None:
    assert gas.litres_per_water_litre(bar, celsius + min(hotter, 30)) < gas.litres_per_water_litre(bar, celsius)


@pytest.mark.parametrize(
    ("bar", "celsius", "said"),
    [
        (-1, 20, "cannot read below zero"),
        (float("nan"), 20, "cannot read below zero"),
        (401, 20, "more than any oxygen cylinder holds"),
        (100, 90, "outside what I can reckon with"),
        (100, float("nan"), "outside what I can reckon with"),
    ],
)
def test_what_cannot_be_is_refused_in_words(bar: float, celsius: float, said: str) -> None:
    with pytest.raises(gas.GasError, match=said):
        gas.litres_per_water_litre(bar, celsius)


def test_a_cylinder_cannot_hold_less_than_nothing_or_more_than_any() -> None:
    with pytest.raises(gas.GasError, match="less than nothing"):
        gas.gauge_bar(-1, 15)
    with pytest.raises(gas.GasError, match="more than any"):
        gas.gauge_bar(900, 15)
