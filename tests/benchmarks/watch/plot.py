"""A picture of one simulated incident: the true pressure, the readings, the estimate with its band, the alerts.

usage: python tests/benchmarks/watch/plot.py OUT.png [--seed 7] [--family gas]      (needs matplotlib)
"""

from __future__ import annotations

import argparse
from math import isnan
from typing import Any

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt
from truth import scene
from watch_outcomes import Played
from watch_played import Play

from assistant.oxygen.cylinders import PSI_BAR

COLOURS = {"high": "#b3261e", "medium": "#c77700", "low": "#3b7d8c"}
LETTERS = {
    "reading_overdue": "reading asked",
    "reserve_near": "reserve near",
    "reserve_reached": "reserve reached",
    "empty": "empty",
    "leak_suspected": "leak suspected",
}


def main() -> None:
    """Draw and save."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out")
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--family", default="gas", choices=("rule", "gas", "real"))
    options = parser.parse_args()
    drawn = scene(options.seed, options.family)
    incident = Play(drawn, every_s=20).run()
    unit_bar = PSI_BAR if drawn.kit.pressure_unit == "psi" else 1.0
    figure, (above, below) = plt.subplots(
        2, 1, figsize=(12, 7), sharex=True, height_ratios=(3, 1), layout="constrained"
    )
    _needle(above, incident, unit_bar)
    _alerts(below, incident)
    leak = f", leak of {drawn.leak_l_min:.1f} L/min from {drawn.leak_from_s / 60:.0f} min" if drawn.leak_l_min else ""
    cold = f", {drawn.cold.celsius:.0f} °C from {drawn.cold.from_s / 60:.0f} min" if drawn.cold else ""
    above.set_title(f"Simulated incident {options.seed}: {drawn.size}{leak}{cold}")
    above.set_ylabel(f"gauge pressure, {drawn.kit.pressure_unit}")
    below.set_xlabel("minutes")
    figure.savefig(options.out, dpi=110)


def _needle(axes: Any, incident: Played, unit_bar: float) -> None:
    minutes = [t / 60 for t, *_ in incident.track]
    mean = [m / unit_bar for _, _, m, _ in incident.track]
    band = [1.645 * sd / unit_bar for *_, sd in incident.track]
    low = [m - b if m > b or isnan(m) else 0.0 for m, b in zip(mean, band, strict=True)]
    high = [m + b for m, b in zip(mean, band, strict=True)]
    axes.fill_between(minutes, low, high, color="#9db8d9", label="needle, estimated: 90 % band", linewidth=0)
    axes.plot(minutes, mean, color="#1f4e8c", linewidth=1.2, label="needle, estimated")
    true = [b / unit_bar for _, b, _, _ in incident.track]
    axes.plot(minutes, true, color="black", linewidth=1.2, linestyle="--", label="true pressure")
    readings = [(t / 60, bar / unit_bar) for t, _, bar in incident.readings]
    axes.plot(*zip(*readings, strict=True), "o", color="#1f4e8c", markersize=5, label="reading said")
    reserve = incident.scene.kit.reserve_bar / unit_bar
    axes.axhline(reserve, color="#b3261e", linewidth=1, linestyle=":", label="reserve")
    for crossed in incident.crossed:
        axes.axvline(crossed.at_s / 60, color="#b3261e", linewidth=0.8, alpha=0.6)
    axes.legend(loc="upper right", frameon=False)
    axes.set_ylim(bottom=0)


def _alerts(axes: Any, incident: Played) -> None:
    kinds = [kind for kind in LETTERS if any(a.alert == kind for a in incident.announced)]
    for alert in incident.announced:
        axes.plot(alert.at_s / 60, kinds.index(alert.alert), "|", markersize=14, color=COLOURS[alert.priority])
    axes.set_yticks(range(len(kinds)), [LETTERS[kind] for kind in kinds])
    axes.set_ylim(-0.6, len(kinds) - 0.4)
    for crossed in incident.crossed:
        axes.axvline(crossed.at_s / 60, color="#b3261e", linewidth=0.8, alpha=0.6)
    axes.set_title("alerts: high red, medium orange, low blue; red lines: the true crossings", fontsize=9, loc="left")


if __name__ == "__main__":
    main()
