"""The kit file: the contract's own text, sizes of one's own, and errors that name line, key and nearest key."""

from itertools import starmap

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.oxygen.cylinders import PSI_BAR
from assistant.oxygen.kit import DEFAULT_KIT_TOML, Kit, KitError, default_kit
from assistant.oxygen.kit_file import CYLINDER, TOP

SMALL = '[[cylinder]]\nsize = "D"\n'


def test_the_default_kit_is_the_contract() -> None:
    kit = default_kit()
    assert [(c.size, c.called) for c in kit.cylinders] == [("D", ("small", "delta")), ("E", ("large", "big", "echo"))]
    assert [round(c.spec.rule_l_bar * PSI_BAR, 9) for c in kit.cylinders] == [0.16, 0.28]
    assert kit.reserve_bar == pytest.approx(200 * PSI_BAR)
    assert kit.gauge_accuracy_bar == pytest.approx(100 * PSI_BAR)
    assert kit.flows_l_min == (0.5, 1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12, 15, 25)
    assert (kit.pressure_unit, kit.country, kit.target_low, kit.target_high) == ("psi", None, 94, 98)


def test_a_european_kit_of_ones_own_litres() -> None:
    kit = Kit.from_toml(
        'pressure_unit = "bar"\nreserve = "20 bar"\ngauge_class = 2.5\ngauge_top = 315\ncountry = "EU"\n'
        '[[cylinder]]\ncalled = ["small"]\nwater_capacity = "2 L"\nservice_pressure = "200 bar"\n'
    )
    small = kit.cylinder("Small")
    assert small is not None
    assert (small.size, small.spec.water_capacity_l, small.spec.service_bar) == ("2 L", 2.0, 200.0)
    assert (kit.reserve_bar, kit.gauge_accuracy_bar) == (20.0, pytest.approx(7.875))


def test_a_factor_of_ones_own_is_taken_at_its_word() -> None:
    (own,) = Kit.from_toml('[[cylinder]]\ncalled = ["blue"]\nfactor = "0.16 L/psi"\n').cylinders
    assert own.size == "0.16 L/psi"
    assert own.spec.content_l(1500 * PSI_BAR) == pytest.approx(240)
    assert own.spec.surely_l(1500 * PSI_BAR, 200 * PSI_BAR) == pytest.approx(208)


def test_a_letter_without_a_country_is_the_smaller_and_is_said_to_be() -> None:
    (unsaid,) = Kit.from_toml('[[cylinder]]\nsize = "C"\n').cylinders
    (said,) = Kit.from_toml('country = "US"\n[[cylinder]]\nsize = "C"\n').cylinders
    assert unsaid.assumed
    assert not said.assumed
    assert unsaid.spec.rule_l_bar < said.spec.rule_l_bar


def test_settings_beyond_the_default() -> None:
    kit = Kit.from_toml(
        'reserve_near = "8 min"\nreading_overdue = "0.5 h"\nsimple_mask_minimum = "5 L/min"\n'
        'target_saturation = [88, 92]\nhandover_margin = 0.5\ngauge_step = "50 psi"\n'
        '[regulator]\nkind = "float"\nflows = [2, 1]\n' + SMALL
    )
    assert (kit.reserve_near_min, kit.reading_overdue_min, kit.simple_mask_minimum_l_min) == (8, 30, 5)
    assert (kit.target_low, kit.target_high, kit.handover_margin, kit.regulator_kind) == (88, 92, 0.5, "float")
    assert kit.flows_l_min == (1, 2)
    assert kit.gauge_step_bar == pytest.approx(50 * PSI_BAR)


@pytest.mark.parametrize(
    ("text", "line", "key", "nearest", "said"),
    [
        ('pressure_unit = "psi"\nresrve = "200 psi"\n' + SMALL, 2, "resrve", "reserve", "unknown key"),
        (SMALL + SMALL.replace("size", "sise").replace("D", "E"), 4, "sise", "size", "unknown key"),
        ("[regulator]\nflwos = [1]\n" + SMALL, 2, "flwos", "flows", "unknown key"),
        ("[regulater]\nflows = [1]\n" + SMALL, 1, "regulater", "regulator", "unknown key"),
        ('pressure_unit = "pfi"\n' + SMALL, 1, "pressure_unit", "psi", "has to be one of"),
        ('country = "UKK"\n' + SMALL, 1, "country", "UK", "has to be one of"),
        ('reserve = "200 m"\n' + SMALL, 1, "reserve", None, "cannot be turned into"),
        ('reserve = "lots"\n' + SMALL, 1, "reserve", None, "is no quantity"),
        ('reserve = "-5 psi"\n' + SMALL, 1, "reserve", None, "cannot be below zero"),
        ("reserve = true\n" + SMALL, 1, "reserve", None, "has to be a quantity"),
        ('[[cylinder]]\nsize = "Q9"\n', 2, "size", None, "No cylinder I know"),
        (SMALL + '[[cylinder]]\nsize = "Q9"\n', 4, "size", None, "No cylinder I know"),
        ('country = "AU"\n[[cylinder]]\nsize = "C"\n', 3, "size", None, "litres of water"),
        ('[[cylinder]]\ncalled = ["small"]\n', 2, "called", None, "needs"),
        ("[[cylinder]]\nwater_capacity = 0\n", 1, "called", None, "above zero"),
        ("[[cylinder]]\nsize = 4\n", 2, "size", None, "has to be a name"),
        ('[[cylinder]]\nsize = "D"\ncalled = "small"\n', 3, "called", None, "list of words"),
        (SMALL + '[[cylinder]]\nsize = "E"\ncalled = ["d"]\n', 5, "called", None, "already names size D"),
        ("[regulator]\nflows = []\n" + SMALL, 2, "flows", None, "list of L/min"),
        ("[regulator]\nflows = [0, 2]\n" + SMALL, 2, "flows", None, "list of L/min"),
        ("regulator = 3\n" + SMALL, 1, "regulator", None, "has to be a table"),
        ("target_saturation = [98, 94]\n" + SMALL, 1, "target_saturation", None, "two percentages"),
        ("handover_margin = 20\n" + SMALL, 1, "handover_margin", None, "share of the time"),
        ("gauge_class = 2.5\n" + SMALL, 1, "gauge_class", None, "needs"),
        ("cylinder = 3\n", 1, "cylinder", None, "carries no cylinder"),
        ("", 0, "cylinder", None, "carries no cylinder"),
        ("reserve = \n" + SMALL, 1, "", None, "not TOML"),
    ],
)
def test_what_is_wrong_is_named(text: str, line: int, key: str, nearest: str | None, said: str) -> None:
    with pytest.raises(KitError, match=said) as caught:
        Kit.from_toml(text, source="island.toml")
    error = caught.value
    assert (error.line, error.key, error.nearest) == (line, key, nearest)
    assert str(error).startswith("island.toml")
    assert "\n" not in str(error)
    if nearest:
        assert nearest in str(error)


def test_no_size_goes_by_two_of_the_default_kits_names() -> None:
    kit = default_kit()
    assert kit.cylinder("echo") is kit.cylinder("E")
    assert kit.cylinder("foxtrot") is None
    assert "called" in DEFAULT_KIT_TOML


VALUES = st.one_of(
    st.booleans(),
    st.integers(-5, 5000),
    st.floats(),
    st.sampled_from(["", "psi", "bar", "D", "US", "200 psi", "2 L", "0.16 L/psi", "-3 bar", "5 min", "1e9 bar"]),
    st.lists(st.one_of(st.integers(-2, 120), st.sampled_from(["small", ""])), max_size=3),
)


def toml_line(key: str, value: object) -> str:
    if isinstance(value, bool):
        return f"{key} = {str(value).lower()}\n"
    return f"{key} = {value!r}\n"


@given(
    st.dictionaries(st.sampled_from([*TOP, "resrve"]), VALUES, max_size=4),
    st.dictionaries(st.sampled_from([*CYLINDER, "sise"]), VALUES, min_size=1, max_size=4),
)
def test_whatever_a_kit_file_says_it_is_read_or_refused_in_one_line(top: dict, cylinder: dict) -> None:
    """Any other error than a KitError fails this test; a kit that is read can be reckoned with."""
    top = {key: value for key, value in top.items() if key not in ("cylinder", "regulator")}
    text = "".join(starmap(toml_line, top.items())) + "[[cylinder]]\n" + "".join(starmap(toml_line, cylinder.items()))
    refused, kit = "", None
    try:
        kit = Kit.from_toml(text)
    except KitError as error:
        refused = str(error)
    assert bool(refused) == (kit is None)
    assert "\n" not in refused
    for carried in kit.cylinders if kit else ():
        assert carried.spec.content_l(10) > 0
        assert carried.spec.content_l(10, celsius=0) > 0
