"""The promise that protects the patient: nothing spoken is longer than the real gas gives, by CoolProp."""

from CoolProp import CoolProp
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.oxygen.cylinders import PSI_BAR, CylinderSpec
from assistant.oxygen.lasting import Held, change_after_min, lasting_flow
from assistant.oxygen.sizes import SIZES
from assistant.oxygen.supply import minutes_to, spoken_minutes, spoken_range

SPECS = [size.spec for size in SIZES if size.water_l is not None]
degrees = st.floats(min_value=-30, max_value=50)
flows = st.floats(min_value=0.25, max_value=25)


def density(bar_gauge: float, celsius: float) -> float:
    return float(CoolProp.PropsSI("D", "T", celsius + 273.15, "P", (bar_gauge + 1.01325) * 1e5, "Oxygen"))


LITRE_DENSITY = float(CoolProp.PropsSI("D", "T", 288.15, "P", 101325, "Oxygen"))


def real_minutes(spec: CylinderSpec, bar: float, to_bar: float, flow_l_min: float, celsius: float) -> float:
    """Minutes the real gas gives by CoolProp."""
    assert spec.water_capacity_l is not None
    grams = density(bar, celsius) - density(to_bar, celsius)
    return spec.water_capacity_l * grams / LITRE_DENSITY / flow_l_min


@st.composite
def readings(draw: st.DrawFn) -> tuple[CylinderSpec, float, float]:
    """A size, a reading from full to the reserve, and the reserve."""
    spec = draw(st.sampled_from(SPECS))
    assert spec.service_bar is not None
    reserve = draw(st.sampled_from((0.0, 10.0, 200 * PSI_BAR, 500 * PSI_BAR)))
    return spec, draw(st.floats(min_value=reserve, max_value=spec.service_bar)), reserve


@settings(max_examples=250)
@given(readings(), flows, degrees)
def test_with_the_temperature_known(reading: tuple[CylinderSpec, float, float], flow: float, celsius: float) -> None:
    spec, bar, reserve = reading
    interval = minutes_to(spec, bar, reserve, flow, celsius=celsius)
    real = real_minutes(spec, bar, reserve, flow, celsius)
    assert spoken_minutes(interval) <= real
    assert (spoken_range(interval) or (0, 0))[1] <= real


@settings(max_examples=250)
@given(readings(), flows, degrees)
def test_with_no_temperature_said(reading: tuple[CylinderSpec, float, float], flow: float, celsius: float) -> None:
    spec, bar, reserve = reading
    interval = minutes_to(spec, bar, reserve, flow)
    assert spoken_minutes(interval) <= real_minutes(spec, bar, reserve, flow, celsius)


@given(readings(), degrees, st.floats(min_value=5, max_value=300))
def test_a_flow_that_is_offered_lasts(
    reading: tuple[CylinderSpec, float, float], celsius: float, minutes: float
) -> None:
    spec, bar, reserve = reading
    held = Held(name="1", spec=spec, pressure_bar=bar)
    for option in lasting_flow([held], minutes, (0.5, 1, 2, 4, 6, 10, 15, 25), reserve_bar=reserve).options:
        real = real_minutes(spec, bar, reserve, option.flow_l_min, celsius)
        assert minutes * 1.2 <= real + 1e-6
        assert option.minutes <= real


@given(readings(), flows, degrees)
def test_a_change_is_called_before_the_reserve(
    reading: tuple[CylinderSpec, float, float], flow: float, celsius: float
) -> None:
    spec, bar, reserve = reading
    held = Held(name="1", spec=spec, pressure_bar=bar)
    after = change_after_min(held, flow, reserve_bar=reserve)
    assert after == 0 or after + 2 <= real_minutes(spec, bar, reserve, flow, celsius)
