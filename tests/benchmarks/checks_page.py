"""Writes docs/checks.md from the same values that the tests hold: python tests/benchmarks/checks_page.py

With --print the page goes to standard output instead.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from assistant.oxygen.cylinders import PSI_BAR
from assistant.oxygen.handbook import TABLE_CELSIUS, handbook_rows
from assistant.oxygen.sizes import SIZES, letter_meaning, meanings_of
from tests.benchmarks.plan_trips import trips
from tests.oxygen.calibration import cases, covered_share
from tests.oxygen.published_values import PublishedValue, published_values

PAGE = ROOT / "docs" / "checks.md"
SURE = {"document": "source read", "second": "read in a source that restates it", "memory": "from memory"}
TRIALS = 40_000


def table(headings: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = ["| " + " | ".join(headings) + " |", "|" + " --- |" * len(headings)]
    return "\n".join([*lines, *("| " + " | ".join(row) + " |" for row in rows)])


def number(value: float) -> str:
    return f"{value:.5g}" if abs(value) < 10_000 else f"{value:.0f}"


def difference(value: PublishedValue) -> str:
    if value.printed == 0:
        return number(value.answer() - value.printed)
    return f"{value.answer() / value.printed - 1:+.2%}"


def value_row(value: PublishedValue) -> list[str]:
    printed, ours = (f"{number(figure)} {value.unit}".strip() for figure in (value.printed, value.answer()))
    return [value.what, printed, ours, difference(value), value.source, SURE[value.sure]]


HEADINGS = ("Value", "Printed", "Ours", "Difference", "Source", "How sure")


def values_part(values: Sequence[PublishedValue]) -> str:
    agreed = [value for value in values if not value.disagrees]
    differing = [value for value in values if value.disagrees]
    return "\n\n".join(
        [
            f"{len(values)} values in print from {len({value.source for value in values})} sources: {len(agreed)} "
            f"agree within the rounding of the print, {len(differing)} do not, for the reasons given.",
            "## Values that agree",
            table(HEADINGS, map(value_row, agreed)),
            "## Values that do not agree, and why",
            table((*HEADINGS, "Why"), ([*value_row(value), value.disagrees] for value in differing)),
        ]
    )


def sizes_part() -> str:
    """Every size, and the letters that mean several contents."""
    lines = []
    for size in SIZES:
        litres = " / ".join(f"{nominal:g}" for nominal in size.nominal_l)
        water = "not printed" if size.water_l is None else f"{size.water_l:g} L ({size.water_source})"
        full = "" if size.service_bar is None else f"{size.service_bar:.0f} bar / {size.service_bar / PSI_BAR:.0f} psi"
        factor = "" if size.factor_l_psi is None else f"{size.factor_l_psi:g} L/psi ({size.factor_source})"
        names = ", ".join((size.letter, *size.also))
        lines.append([size.country, names, size.material, f"{litres} L", water, full, factor, size.source])
    letters = sorted({size.letter for size in SIZES if len({one.country for one in meanings_of(size.letter)}) > 1})
    shared = []
    for letter in letters:
        meaning = letter_meaning(letter)
        said = "; ".join(f"{one.country} {' to '.join(_ends(one.nominal_l))} L" for one in meaning.meanings)
        shared.append([letter, said, f"{meaning.used.country} ({meaning.used.spec.rule_l_bar:.3g} L/bar)"])
    headings = ("Country", "Size", "Material (from memory)", "Content in print", "Water", "Full", "Factor", "Source")
    return "\n\n".join(
        [
            "## The sizes",
            table(headings, lines),
            "## Letters that mean several contents",
            "Without a country the meaning that gives the least for a reading is used, and said to be.",
            table(("Letter", "Meanings", "Used without a country"), shared),
        ]
    )


def _ends(nominal_l: Sequence[float]) -> list[str]:
    return [f"{litres:g}" for litres in sorted({nominal_l[0], nominal_l[-1]})]


def handbook_part() -> str:
    """One line for each size and share of full; a column for each temperature."""
    rows = handbook_rows(SIZES, reserve_bar=200 * PSI_BAR)
    lines = []
    for start in range(0, len(rows), len(TABLE_CELSIUS)):
        group = rows[start : start + len(TABLE_CELSIUS)]
        first = group[0]
        pressure = f"{first.pressure_bar:.0f} bar / {first.pressure_bar / PSI_BAR:.0f} psi"
        offs = [f"{row.real_l:.0f} L ({row.off:+.1%})" for row in group]
        lines.append([first.country, first.size, first.rule, pressure, f"{first.rule_l:.0f} L", *offs])
    degrees = [f"Real at {celsius:g} °C (rule off by)" for celsius in TABLE_CELSIUS]
    return "\n\n".join(
        [
            "## The rule of the trade beside the real gas",
            "Litres down to 200 psi. Above zero the rule promises more than there is. Where no temperature was said "
            "the rule gives what is expected, and what is spoken is held down to the real gas at 50 °C.",
            table(("Country", "Size", "Rule", "Gauge", "By the rule", *degrees), lines),
        ]
    )


def calibration_part() -> str:
    lines = []
    for case in cases():
        shares = [covered_share(case, trials=TRIALS, seed=7, shape=shape) for shape in ("normal", "rectangular")]
        lines.append([str(case), *(f"{share:.1%}" for share in shares)])
    return "\n\n".join(
        [
            "## Does the 90 % interval hold 90 % of true times?",
            f"{TRIALS:,} trials each. Errors as the interval takes them: the gauge normal, the flow log-normal, each "
            "with a standard deviation of its limit divided by √3, as for a rectangular error (GUM, JCGM 100:2008, "
            "4.3.7). The second column draws both evenly between their limits, which are all that is known.",
            table(("Case", "Errors as stated", "Errors even to their limits"), lines),
        ]
    )


def trips_part() -> str:
    lines = [
        [story, size.called, str(size.carry), str(size.by_rule), f"{size.each_l:.0f} L", f"{size.each_min} min"]
        for story, plan in trips()
        for size in plan.sizes
    ]
    headings = ("Trip", "Size", "Carry (covers 95 %)", "By plain division", "One gives", "One lasts")
    return "\n\n".join(
        [
            "## Three trips",
            "Printed with their charts by `python tests/benchmarks/plan_trips.py`.",
            table(headings, lines),
        ]
    )


def page() -> str:
    head = (
        "# Checks of the calculator against the outside\n\n"
        "Written by `python tests/benchmarks/checks_page.py` from the values that the tests hold; not edited by hand. "
        "Speed is printed by `python tests/benchmarks/calculator_speed.py`."
    )
    parts = [head, values_part(published_values()), sizes_part(), handbook_part(), calibration_part(), trips_part()]
    return "\n\n".join(parts) + "\n"


def main() -> None:
    if "--print" in sys.argv[1:]:
        print(page(), end="")
        return
    PAGE.parent.mkdir(exist_ok=True)
    PAGE.write_text(page(), encoding="utf-8")
    print(f"written: {PAGE.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
