"""The cylinders at hand on a terminal: the order of use, the first change, and what would last where they do not."""

from __future__ import annotations

from math import floor

from rich.console import Console
from rich.table import Table
from rich.text import Text

from assistant.oxygen.at_hand import AtHand
from assistant.oxygen.lasting import LastingFlow
from assistant.oxygen.order import Course, Sharing


def show_at_hand(found: AtHand, console: Console) -> None:
    """Prints it; plain where the console is."""
    people = "1 patient" if found.patients == 1 else f"{found.patients} patients"
    console.print(Text(f"{people} at {found.flow_l_min:g} L/min for {found.minutes:.0f} min", style="bold"))
    if found.sharing is not None:
        console.print(_shared(found.sharing, found.minutes))
    if found.course is not None:
        console.print(_course(found.course))
        console.print(_said(found.course, found.first_change_min))
    if found.lasting is not None and found.course is not None and not found.course.covered:
        console.print(_would_last(found.lasting))
    console.print(
        Text("To the reserve of each cylinder, rounded down. Read the gauges; local protocol decides.", "dim")
    )


def _course(course: Course) -> Table:
    table = Table("In order of use")
    for heading in ("from, min", "to, min"):
        table.add_column(heading, justify="right")
    for stretch in course.stretches:
        table.add_row(stretch.cylinder, *(str(floor(at + 1e-9)) for at in (stretch.from_min, stretch.to_min)))
    return table


def _said(course: Course, change_min: int | None) -> Text:
    told = [f"Lasts {course.lasts_min} min" + ("." if course.covered else ": not until then.")]
    if change_min is not None:
        told.append(f"Begin the first change after {change_min} min.")
    if course.late_change:
        told.append("A change in the last ten minutes cannot be avoided.")
    if course.spare:
        told.append(f"Left untouched: {', '.join(course.spare)}.")
    return Text(" ".join(told), style="" if course.covered else "bold")


def _would_last(lasting: LastingFlow) -> Text:
    """What lasts with the kit's margin; never advice to give less."""
    told = f"With a margin, {lasting.needed_min:.0f} min:"
    if not lasting.options:
        return Text(f"{told} no setting of the regulator lasts.")
    highest = lasting.options[0]
    return Text(f"{told} up to {highest.flow_l_min:g} L/min would last. Or more cylinders, or an earlier hand-over.")


def _shared(sharing: Sharing, minutes: float) -> Text:
    lines = [f"Patient {number}: {', '.join(names) or 'none'}" for number, names in enumerate(sharing.cylinders, 1)]
    lasts = f"Lasts all of them {sharing.minutes} min" + ("." if sharing.minutes >= minutes else ": not until then.")
    if sharing.moved_min > sharing.minutes:
        lasts += f" Moved between them as they empty, at most {sharing.moved_min} min."
    return Text("\n".join([*lines, lasts]))
