"""Letters that change meaning by country, and the table of sizes against the gas."""

import pytest

from assistant.oxygen.cylinders import CylinderError
from assistant.oxygen.gas import litres_per_water_litre
from assistant.oxygen.sizes import COUNTRIES, SIZES, letter_meaning, meanings_of, size_named, sizes_in

WITH_WATER = [size for size in SIZES if size.water_l is not None]


def test_every_row_names_its_source_and_country() -> None:
    for size in SIZES:
        assert size.source
        assert size.country in COUNTRIES
        assert size.nominal_l == tuple(sorted(size.nominal_l))
        assert (size.factor_l_psi is None) == (not size.factor_source)
        assert (size.water_l is None) == (not size.water_source)


@pytest.mark.parametrize("size", WITH_WATER, ids=lambda size: f"{size.country} {size.letter}")
def test_the_litres_of_water_fit_a_printed_content(size) -> None:
    """Full, the real gas is within 12 % of a printed content: print by V x P is up to a tenth below the real gas."""
    celsius = 21.1 if size.country == "US" else 15.0
    assert size.service_bar is not None
    held = size.water_l * litres_per_water_litre(size.service_bar, celsius)
    assert min(abs(held / nominal - 1) for nominal in size.nominal_l) < 0.12
    assert held <= max(size.nominal_l) * 1.12


@pytest.mark.parametrize(("letter", "country", "litres"), [("D", "US", 0.16), ("E", "US", 0.28), ("H", "US", 3.14)])
def test_handbook_factors(letter: str, country: str, litres: float) -> None:
    assert size_named(letter, country).factor_l_psi == litres


def test_what_a_delta_is_here() -> None:
    """Australian D 1.5 m3, UK D 340 L, US D 350 to 425 L: the letter alone can be off by four."""
    meaning = letter_meaning("D", "UK")
    assert {size.country for size in meaning.meanings} == {"US", "UK", "AU"}
    assert meaning.used.nominal_l == (340,)
    assert not meaning.assumed


@pytest.mark.parametrize("letter", ["C", "D", "E", "G"])
def test_without_a_country_no_other_meaning_of_the_letter_gives_less(letter: str) -> None:
    meaning = letter_meaning(letter)
    assert meaning.assumed
    rules = [size.spec.rule_l_bar for size in meanings_of(letter) if size.water_l is not None]
    assert meaning.used.spec.rule_l_bar == min(rules)


def test_other_names_of_a_size() -> None:
    assert size_named("m15", "US") is size_named("D", "US")
    assert size_named("K", "us") is size_named("H", "US")
    assert len(sizes_in("eu")) >= 8
    assert sizes_in("ZZ") == ()


def test_a_letter_nobody_uses_and_one_known_by_name_only() -> None:
    with pytest.raises(CylinderError, match="No cylinder I know"):
        letter_meaning("Q9")
    with pytest.raises(CylinderError, match="litres of water"):
        letter_meaning("D", "AU")
