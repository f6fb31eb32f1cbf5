"""The plan on a terminal and in a pipe."""

import io

from rich.console import Console

from assistant.oxygen.kit import default_kit
from assistant.oxygen.plan import plan_trip
from assistant.screens.plan_view import show_plan

PLAN = plan_trip(hours=70 / 60, patients=2, flow_l_min=15, kit=default_kit(), long_chance=0.2, long_hours=3)


def shown(terminal: bool) -> str:
    page = io.StringIO()
    show_plan(PLAN, Console(file=page, width=100, force_terminal=terminal))
    return page.getvalue()


def test_the_numbers_to_carry_stand_in_the_table_and_in_the_chart() -> None:
    lines = shown(terminal=False).splitlines()
    for size in PLAN.sizes:
        (row,) = [line for line in lines if f"{size.called} ({size.size})" in line]
        cells = [cell.strip() for cell in row.strip("│").split("│")]
        assert cells[1:3] == [str(size.carry), str(size.by_rule)]
        assert any(line.startswith(f"{size.carry:>4}  ") and "covers 95%" in line for line in lines)
    assert lines[0] == "Oxygen for 2 patients at 15 L/min for 1.17 h, 20% chance of 3 h"
    assert any("local protocol decides" in line for line in lines)


def test_a_pipe_gets_no_colour() -> None:
    assert "\x1b[" not in shown(terminal=False)
    assert "\x1b[" in shown(terminal=True)
