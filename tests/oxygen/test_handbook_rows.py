"""The table of handbook rules against the gas: what it shows is what the documentation says of it."""

from assistant.oxygen.handbook import handbook_rows
from assistant.oxygen.sizes import SIZES, size_named


def test_the_classic_factor_of_an_e_is_safe_cold_and_optimistic_when_hot() -> None:
    rows = {row.celsius: row.off for row in handbook_rows([size_named("E", "US")], [1.0])}
    assert rows[-20.0] < rows[0.0] < rows[21.1] < 0 < rows[50.0]


def test_litres_times_bar_is_6_percent_short_at_200_bar_and_too_much_in_the_sun() -> None:
    """French product characteristics: 10.6 m3 in 50 L at 200 bar and 15 °C, where litres times bar gives 10.0."""
    rows = {row.celsius: row.off for row in handbook_rows([size_named("50 L")], [1.0], celsius=(15.0, 40.0))}
    assert -0.07 < rows[15.0] < -0.05
    assert 0.05 < rows[40.0] < 0.08


def test_sizes_without_litres_of_water_have_no_row() -> None:
    assert not handbook_rows([size for size in SIZES if size.country == "AU"])
    assert {row.rule for row in handbook_rows(SIZES)} == {"factor", "V x P"}


def test_nothing_is_compared_below_the_reserve() -> None:
    assert not handbook_rows([size_named("D", "US")], [0.05], reserve_bar=13.8)
