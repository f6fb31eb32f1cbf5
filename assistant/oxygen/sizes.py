"""The cylinder sizes of the trade by country: what each letter or size holds, by whom it is printed so.

Gives rows and, for a letter, all its meanings. Water capacities marked derived are the smallest content in current
listings, turned back by the real gas: where a letter means several contents the smaller supply is used.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.oxygen.cylinders import PSI_BAR, CylinderError, CylinderSpec

NDC = "openFDA NDC directory, labelled litres per cylinder, read November 2026"
VIRGINIA = "Oxygen Cylinder Guidance, sheet built on 12VAC5-31-860 (Virginia), October 2010"
STATPEARLS = "StatPearls, Gas Cylinders, April 2023"
LUTMAN = "Lutman & Petros, Emerg Med J 2006;23:703-4"
UK_CHART = "UK medical cylinder chart (from memory)"
SMPC_FR = "French product characteristics of medical oxygen at 200 bar, section 2"
SMPC_FR_110 = "ANSM public drug database, medical oxygen at 110 bar, July 2021"
TSANZ = "Therapeutic Guidelines (Australia), respiratory, cylinder table adapted from TSANZ 2014"


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """One size as one country's trade knows it.

    `nominal_l`: contents in print, smallest first. `factor_l_psi`: the handbook's, where one is printed.
    `water_l` with `water_source`: measured, printed or derived. `material`: steel, aluminium, composite or any.
    """

    letter: str
    country: str
    nominal_l: tuple[float, ...]
    source: str
    water_l: float | None = None
    water_source: str = ""
    service_bar: float | None = None
    factor_l_psi: float | None = None
    factor_source: str = ""
    material: str = "any"
    also: tuple[str, ...] = ()

    @property
    def spec(self) -> CylinderSpec:
        """The cylinder to reckon with; raises CylinderError for a size whose water capacity nobody prints."""
        if self.water_l is None:
            raise CylinderError(f"Nobody prints the litres of water of size {self.letter} in {self.country}.")
        factor = self.factor_l_psi
        return CylinderSpec(
            size=self.letter,
            water_capacity_l=self.water_l,
            factor_l_bar=None if factor is None else factor / PSI_BAR,
            service_bar=self.service_bar,
        )


# The older, smaller contents of D and E (350, 625 L) belong to a filling of 1900 psi (StatPearls prints it for E), so
# to more litres of water, not fewer: the smallest content listed for 2216 psi is the cautious one.
_LISTED = "derived by the real gas: smallest content in current listings, full, at 70 °F"
_PRINTED = "derived by the real gas: the source's content, full, at 70 °F"
_COLLAR = "derived by the real gas: the content, full, at 15 °C"
_PLUS = 2216 * PSI_BAR  # 2015 psi and the ten percent over it that a "+" mark allows: 49 CFR 180 (from memory)


def _us(
    letter: str,
    nominal_l: tuple[float, ...],
    water_l: float,
    source: str,
    factor: tuple[float, str] | None = None,
    material: str = "aluminium",
    also: tuple[str, ...] = (),
) -> Size:
    return Size(
        letter=letter, country="US", nominal_l=nominal_l, source=source, water_l=water_l,
        water_source=_LISTED if source == NDC else _PRINTED, service_bar=_PLUS,
        factor_l_psi=factor[0] if factor else None, factor_source=factor[1] if factor else "",
        material=material, also=also,
    )  # fmt: skip


def _uk(letter: str, nominal_l: float, water_l: float, service_bar: float, source: str, material: str) -> Size:
    return Size(
        letter=letter, country="UK", nominal_l=(nominal_l,), source=source, water_l=water_l,
        water_source=_COLLAR if service_bar == 137 else UK_CHART, service_bar=service_bar, material=material,
    )  # fmt: skip


def _eu(water_l: float, service_bar: float, nominal_l: float, source: str) -> Size:
    return Size(
        letter=f"{water_l:g} L", country="EU", nominal_l=(nominal_l,), source=source, water_l=water_l,
        water_source="marked on the cylinder", service_bar=service_bar,
    )  # fmt: skip


def _au(letter: str, nominal_l: tuple[float, ...]) -> Size:
    return Size(letter=letter, country="AU", nominal_l=nominal_l, source=TSANZ, material="steel")


_CLASSIC = VIRGINIA
_AAOS = "AAOS, Emergency Care and Transportation of the Sick and Injured, as reprinted"
_AAOS_DECK = "AAOS EMT airway chapter, as a study deck"

SIZES: tuple[Size, ...] = (
    _us("M6", (164, 165, 170), 1.04, NDC, also=("B", "ML6")),
    _us("C", (240, 248, 255), 1.52, NDC, also=("M9",)),
    _us("D", (350, 360, 387, 396, 415, 425), 2.45, NDC, (0.16, _CLASSIC), also=("M15",)),
    _us("Jumbo D", (500, 640), 3.17, _AAOS_DECK, also=("JD", "M22")),
    _us("E", (625, 651, 660, 680, 708), 4.18, NDC, (0.28, _CLASSIC), also=("M24",)),
    _us("M60", (1720, 1738), 10.9, NDC),
    _us("M", (3000, 3450), 21.8, STATPEARLS, (1.56, _CLASSIC), also=("MM", "M122")),
    _us("G", (5300,), 33.6, _AAOS_DECK, (2.41, _AAOS), material="steel"),
    _us("H", (6900, 7107), 43.7, VIRGINIA, (3.14, _CLASSIC), material="steel", also=("K",)),
    _uk("C", 170, 1.17, 137, UK_CHART, "steel"),
    _uk("D", 340, 2.34, 137, LUTMAN, "steel"),
    _uk("CD", 460, 2.0, 230, LUTMAN, "composite"),
    _uk("ZD", 605, 2.0, 300, UK_CHART, "composite"),
    _uk("E", 680, 4.68, 137, UK_CHART, "steel"),
    _uk("F", 1360, 9.37, 137, LUTMAN, "steel"),
    _uk("HX", 2300, 10.0, 230, UK_CHART, "composite"),
    _uk("ZX", 3040, 10.0, 300, UK_CHART, "composite"),
    _uk("G", 3400, 23.4, 137, UK_CHART, "steel"),
    _uk("J", 6800, 46.8, 137, UK_CHART, "steel"),
    _eu(0.95, 110, 100, SMPC_FR_110),
    _eu(1, 200, 212, "real gas at 15 °C, computed here"),
    _eu(2, 200, 420, SMPC_FR),
    _eu(2.2, 110, 240, SMPC_FR_110),
    _eu(3, 200, 635, "real gas at 15 °C, computed here"),
    _eu(5, 200, 1060, SMPC_FR),
    _eu(10, 200, 2118, "real gas at 15 °C, computed here"),
    _eu(11, 200, 2300, SMPC_FR),
    _eu(15, 200, 3200, SMPC_FR),
    _eu(20, 200, 4200, SMPC_FR),
    _eu(50, 200, 10600, SMPC_FR),
    _au("C", (550,)),
    _au("D", (1500,)),
    _au("E", (3800, 5200)),
    _au("G", (7600, 8800)),
)
COUNTRIES = ("US", "UK", "EU", "AU")


def sizes_in(country: str) -> tuple[Size, ...]:
    """The sizes one country's trade knows; empty for a country that is not listed."""
    return tuple(size for size in SIZES if size.country == country.upper())


def meanings_of(letter: str) -> tuple[Size, ...]:
    """Every size that goes by this letter or name, the smallest supply first."""
    wanted = letter.strip().upper()
    found = [size for size in SIZES if wanted in (name.upper() for name in (size.letter, *size.also))]
    return tuple(sorted(found, key=_supply_l_bar))


def _supply_l_bar(size: Size) -> float:
    """Litres for each bar on the gauge, which is what a reading is worth; without litres of water, after all others."""
    return size.spec.rule_l_bar if size.water_l is not None else 1e6 + size.nominal_l[0]


def size_named(letter: str, country: str | None = None) -> Size:
    """The size that is used for a letter: the country's own, else the smallest supply that can be reckoned with.

    Raises CylinderError where no country has it, or none that says its litres of water.
    """
    found = meanings_of(letter)
    if not found:
        raise CylinderError(f"No cylinder I know is called {letter}.")
    here = [size for size in found if country is not None and size.country == country.upper()]
    usable = [size for size in here or found if size.water_l is not None]
    if not usable:
        raise CylinderError(f"I know size {letter} by name only; say its litres of water.")
    return usable[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterMeaning:
    """What a letter means: every meaning, the one that is used, and whether the country was known.

    `assumed` is true where no country was known and the smaller supply was taken: that has to be said.
    """

    letter: str
    meanings: tuple[Size, ...]
    used: Size
    assumed: bool


def letter_meaning(letter: str, country: str | None = None) -> LetterMeaning:
    """The answer to "what is a delta cylinder here". Raises CylinderError for a letter nobody uses."""
    used = size_named(letter, country)
    known = country is not None and used.country == country.upper()
    meanings = meanings_of(letter)
    return LetterMeaning(letter=letter, meanings=meanings, used=used, assumed=not known and len(meanings) > 1)
