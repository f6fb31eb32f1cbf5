"""Draws the charts of docs/benchmarks.md from its own tables: python tests/benchmarks/charts.py

heard.svg: what is right in each place, by recogniser. growth.svg: how cost grows with size, each beside its first row.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

import matplotlib as mpl

mpl.use("svg")
import matplotlib.pyplot as plt

DOCS = Path(__file__).resolve().parents[2] / "docs"
PLACES = ("right, quiet", "right, pink10", "right, babble10")
GREYS = ("#1f4e79", "#6f9fc8", "#c9ced6")
GROWING = ("grammar", "events", "patients, a cylinder each", "utterance, s")
NO_COSTS = ("words", "its states", "hearing, of free dictation")
Table = tuple[list[str], list[list[str]]]


def tables(page: str) -> list[Table]:
    """Every Markdown table of the page: its heads, and its rows."""
    found: list[Table] = []
    for block in re.findall(r"(?:^\|.*\|$\n?)+", page, re.MULTILINE):
        heads, _, *rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in block.splitlines()]
        found.append((heads, rows))
    return found


def figure_in(cell: str) -> float | None:
    """The number a cell begins with, "×" left out; None where it holds none."""
    found = re.match(r"×?\s*(-?\d+(?:\.\d+)?)", cell)
    return float(found.group(1)) if found else None


def heard(found: Sequence[Table]) -> None:
    """Bars: the share of commands right, in each place, for each recogniser."""
    heads, rows = next(table for table in found if PLACES[0] in table[0])
    names = [row[0].strip("*") for row in rows]
    figure, axes = plt.subplots(figsize=(9, 4.2))
    for at, place in enumerate(PLACES):
        shares = [figure_in(row[heads.index(place)]) or 0.0 for row in rows]
        ys = [row + (at - 1) * 0.27 for row in range(len(rows))]
        axes.barh(ys, shares, 0.26, color=GREYS[at], label=place.removeprefix("right, "))
    axes.set_yticks(range(len(names)), names)
    axes.invert_yaxis()
    axes.set_xlim(0, 100)
    axes.set_xlabel("right, % of commands; the assistant may ask once")
    axes.legend(frameon=False, loc="lower right")
    _saved(figure, "heard.svg")


def growth(found: Sequence[Table]) -> None:
    """Lines: what each costs, in times of the first row, by its size in times of the first row."""
    growing = [table for table in found if table[0][0] in GROWING]
    figure, panels = plt.subplots(1, len(growing), figsize=(12, 3.8), sharey=True)
    for axes, (heads, rows) in zip(panels, growing, strict=True):
        sizes = [figure_in(row[0]) or 1.0 for row in rows]
        for column in range(1, len(heads)):
            costs = [figure_in(row[column]) for row in rows]
            if heads[column] in NO_COSTS or any(not cost for cost in costs):
                continue
            axes.plot(
                [s / sizes[0] for s in sizes],
                [(c or 0.0) / (costs[0] or 1.0) for c in costs],
                "o-",
                label=heads[column],
            )
        axes.plot([1, sizes[-1] / sizes[0]], [1, sizes[-1] / sizes[0]], ":", color="#999999", label="in proportion")
        axes.set_xscale("log")
        axes.set_yscale("log")
        axes.set_xlabel(f"times the first: {heads[0]}")
        axes.legend(frameon=False, fontsize=7)
    panels[0].set_ylabel("cost, times the first")
    _saved(figure, "growth.svg")


def _saved(figure: plt.Figure, name: str) -> None:
    figure.tight_layout()
    figure.savefig(DOCS / name, metadata={"Date": None})
    plt.close(figure)


def main() -> None:
    """Both charts, of the page as it is; one whose tables are not there is left as it was."""
    mpl.rcParams.update({"svg.hashsalt": "benchmarks", "svg.fonttype": "none"})
    found = tables((DOCS / "benchmarks.md").read_text(encoding="utf-8"))
    if any(PLACES[0] in heads for heads, _ in found):
        heard(found)
    if any(heads[0] in GROWING for heads, _ in found):
        growth(found)


if __name__ == "__main__":
    main()
