"""The kit: which cylinders, gauges and regulators are carried, in the carrier's own words.

Takes the text of a TOML file; gives a frozen Kit with bar and L/min inside.
Refuses, with a KitError that names the line, the key and the nearest key, whatever it does not know.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.oxygen.cylinders import CylinderSpec
from assistant.quantity import Measure

DEFAULT_KIT_TOML = """\
pressure_unit = "psi"
reserve = "200 psi"
gauge_accuracy = "100 psi"
[[cylinder]]
called = ["small", "delta"]
size = "D"
[[cylinder]]
called = ["large", "big", "echo"]
size = "E"
[regulator]
flows = [0.5, 1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12, 15, 25]
"""
DEFAULT_SOURCE = "the default kit"


class KitError(ValueError):
    """The kit file cannot be used: the text names file, line, key and, of a misspelt key, the nearest one."""

    def __init__(self, why: str, *, source: str, line: int = 0, key: str = "", nearest: str | None = None) -> None:
        place = f"{source}, line {line}" if line else source
        hint = f"; the nearest is {nearest}" if nearest else ""
        super().__init__(f"{place}: {why}{hint}")
        self.source, self.line, self.key, self.nearest = source, line, key, nearest


@dataclass(frozen=True, slots=True, kw_only=True)
class KitCylinder:
    """One size in the kit: what it is called, its size, what it holds, and how that is known.

    `assumed` is true where the letter means several contents, no country was given, and the smallest was taken.
    """

    called: tuple[str, ...]
    size: str
    spec: CylinderSpec
    assumed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit:
    """What is carried. Pressures in bar (gauge), flows in L/min, times in minutes; `reserve` is as it was written.

    `country` is a code of the sizes table, or None where the file does not say.
    """

    pressure_unit: str
    reserve: Measure
    reserve_bar: float
    gauge_accuracy_bar: float
    cylinders: tuple[KitCylinder, ...]
    flows_l_min: tuple[float, ...]
    country: str | None = None
    gauge_step_bar: float | None = None
    gauge_top_bar: float | None = None
    reserve_near_min: float = 5.0
    reading_overdue_min: float = 15.0
    simple_mask_minimum_l_min: float = 6.0
    target_low: int = 94
    target_high: int = 98
    handover_margin: float = 0.2
    regulator_kind: str = "fixed_orifice"
    fitting: str = "yoke"
    valve: str = "key"

    @staticmethod
    def from_toml(text: str, *, source: str = "the kit file") -> Kit:
        """The kit a TOML text describes; `source` is named in errors. Raises KitError."""
        from assistant.oxygen.kit_file import kit_read

        return kit_read(text, source)

    def cylinder(self, size: str) -> KitCylinder | None:
        """The cylinder of that size, or of that name; None where the kit has none."""
        wanted = size.casefold()
        for cylinder in self.cylinders:
            if wanted == cylinder.size.casefold() or wanted in (name.casefold() for name in cylinder.called):
                return cylinder
        return None

    def knows(self, size: str) -> bool:
        """Whether the kit has a cylinder of that size or name."""
        return self.cylinder(size) is not None

    def spec(self, size: str) -> CylinderSpec:
        """What the cylinder of that size holds. Raises KeyError where the kit has none."""
        cylinder = self.cylinder(size)
        if cylinder is None:
            raise KeyError(size)
        return cylinder.spec

    def called(self, size: str) -> str | None:
        """The carrier's first word for that size, if the kit has one."""
        cylinder = self.cylinder(size)
        return cylinder.called[0] if cylinder is not None and cylinder.called else None

    @property
    def gauge_sd_bar(self) -> float:
        """The gauge's limit of error as a standard deviation: rectangular, limit / √3 (GUM, JCGM 100:2008, 4.3.7)."""
        return self.gauge_accuracy_bar / 3**0.5


def default_kit() -> Kit:
    """The kit where none is given: US D and E with handbook factors, reserve 200 psi."""
    return Kit.from_toml(DEFAULT_KIT_TOML, source=DEFAULT_SOURCE)
