"""Altitude against an atmosphere library, and what it does to the flow."""

import numpy as np
import pytest
from ambiance import Atmosphere
from hypothesis import given
from hypothesis import strategies as st

from assistant.oxygen import place

heights = st.floats(min_value=-400, max_value=8990)


@given(heights)
def test_air_pressure_is_that_of_the_atmosphere_library(metres: float) -> None:
    """The library takes geometric height; ISO 2533 and we take geopotential."""
    geometric = float(np.ravel(Atmosphere.geop2geom_height(metres))[0])
    assert place.air_hpa(metres) == pytest.approx(float(Atmosphere(geometric).pressure[0]) / 100, rel=1e-4)


@given(heights)
def test_height_and_pressure_are_each_others_inverse(metres: float) -> None:
    assert place.metres_at(place.air_hpa(metres)) == pytest.approx(metres, abs=0.01)


@given(heights, st.floats(min_value=21, max_value=100))
def test_the_sea_level_equivalent_gives_the_same_oxygen(metres: float, percent: float) -> None:
    there = place.inspired_mmhg(metres, percent)
    assert (760 - 47) * place.sea_level_percent(metres, percent) / 100 == pytest.approx(there)


@pytest.mark.parametrize(("metres", "percent"), [(1000, 23.8), (3000, 31.2), (5000, 41.7), (6000, 48.7)])
def test_percent_like_sea_level(metres: float, percent: float) -> None:
    """(760 - 47) x 0.2095 over (air - 47), computed by hand from ISO 2533's pressures."""
    assert place.percent_like_sea_level(metres) == pytest.approx(percent, abs=0.05)


@given(heights, st.sampled_from(["fixed_orifice", "float"]))
def test_no_height_makes_a_cylinder_last_shorter(metres: float, regulator: str) -> None:
    assert 0 < place.passed_share(regulator, metres) <= 1


def test_what_passes_at_5000_metres() -> None:
    """Float: sqrt(540.2 / 1013.25); orifice: (3447 + 540.2) / (3447 + 1013.25)."""
    assert place.passed_share("float", 5000) == pytest.approx(0.730, abs=0.001)
    assert place.passed_share("fixed_orifice", 5000) == pytest.approx(0.894, abs=0.001)


def test_where_no_one_goes_is_refused_in_words() -> None:
    for wrong in (20_000, -900, float("nan")):
        with pytest.raises(place.PlaceError, match="outside what I can reckon with"):
            place.air_hpa(wrong)
    with pytest.raises(place.PlaceError, match="Nobody breathes"):
        place.inspired_mmhg(0, 120)
    with pytest.raises(place.PlaceError, match="above zero"):
        place.metres_at(0)
    with pytest.raises(place.PlaceError, match="no regulator called"):
        place.passed_share("balloon", 0)
