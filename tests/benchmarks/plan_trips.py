"""Prints the trip plan for three trips of our scenario: python tests/benchmarks/plan_trips.py"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from rich.console import Console

from assistant.oxygen.kit import Kit, default_kit
from assistant.oxygen.plan import TripPlan, plan_trip
from assistant.screens.plan_view import show_plan

WINTER_KIT = """\
pressure_unit = "bar"
country = "EU"
reserve = "20 bar"
gauge_class = 2.5
gauge_top = "315 bar"
[[cylinder]]
called = ["two litre"]
size = "2 L"
[[cylinder]]
called = ["five litre"]
size = "5 L"
"""


def trips() -> list[tuple[str, TripPlan]]:
    """Each trip with its story."""
    usual = default_kit()
    winter = Kit.from_toml(WINTER_KIT, source="the winter kit")
    return [
        (
            "Marsh island, one patient after smoke, 15 L/min, the boat due in seventy minutes; "
            "one time in five the tide keeps it away for three hours",
            plan_trip(hours=70 / 60, patients=1, flow_l_min=15, kit=usual, long_chance=0.2, long_hours=3),
        ),
        (
            "Reed-cutters' weekend, up to two patients at 4 L/min for two hours; one time in ten it takes six",
            plan_trip(hours=2, patients=2, flow_l_min=4, kit=usual, long_chance=0.1, long_hours=6),
        ),
        (
            "Winter round on the ice at -10 °C with European cylinders, one patient, 10 L/min for an hour and a half",
            plan_trip(hours=1.5, patients=1, flow_l_min=10, kit=winter, celsius=-10),
        ),
    ]


def main() -> None:
    console = Console()
    for story, plan in trips():
        console.rule()
        console.print(story)
        show_plan(plan, console)


if __name__ == "__main__":
    main()
