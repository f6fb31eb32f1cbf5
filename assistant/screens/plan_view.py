"""The trip plan on a terminal: a table of sizes and a small chart of what each number of cylinders covers."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from assistant.oxygen.plan import SizePlan, TripPlan

_BAR_WIDTH = 30


def show_plan(plan: TripPlan, console: Console) -> None:
    """Prints the plan; plain where the console is."""
    console.print(_question(plan))
    console.print(_table(plan))
    for size in plan.sizes:
        console.print(_chart(size, plan.trip.confidence))
    console.print(_caution(plan))


def _question(plan: TripPlan) -> Text:
    trip = plan.trip
    people = "1 patient" if trip.patients == 1 else f"{trip.patients} patients"
    late = f", {trip.long_chance:.0%} chance of {trip.long_hours:.3g} h" if trip.long_chance else ""
    return Text(f"Oxygen for {people} at {trip.flow_l_min:g} L/min for {trip.hours:.3g} h{late}", style="bold")


def _table(plan: TripPlan) -> Table:
    table = Table()
    table.add_column("Size")
    carry = f"Carry (covers {plan.trip.confidence:.0%})"
    for heading in (carry, "By plain division", "One gives, to reserve", "One lasts"):
        table.add_column(heading, justify="right")
    for size in plan.sizes:
        name = size.size if size.called == size.size else f"{size.called} ({size.size})"
        table.add_row(name, str(size.carry), str(size.by_rule), f"{size.each_l:.0f} L", f"{size.each_min} min")
    return table


def _chart(size: SizePlan, confidence: float) -> Text:
    """One line for each number of cylinders: the share of cases it covers; the number to carry stands out."""
    chart = Text(f"\n{size.called}: cases covered by so many cylinders\n", style="bold")
    for number, share in size.covered:
        bar = "█" * round(share * _BAR_WIDTH)
        mark = f"  ← covers {confidence:.0%}" if number == size.carry else ""
        style = "green" if share >= confidence else "yellow"
        chart.append(f"{number:>4}  ", style="")
        chart.append(f"{bar:<{_BAR_WIDTH}}", style=style)
        chart.append(f" {share:>4.0%}{mark}\n", style="bold" if mark else "")
    return chart


def _caution(plan: TripPlan) -> Text:
    return Text(
        f"Of {plan.cases:,} cases; time, regulator flow and filling vary from case to case, and every cylinder is used "
        "down to the reserve only. A plan, not a promise: local protocol decides.",
        style="dim",
    )
