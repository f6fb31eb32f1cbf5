"""`plan`: how many cylinders to carry, before leaving."""

from __future__ import annotations

import json
from argparse import ArgumentParser, Namespace
from pathlib import Path

from assistant.commands.opening import UserError, kit_of

HELP = "how many cylinders for how long a trip, before leaving"


def add_arguments(parser: ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument("--hours", type=float, required=True, help="hours of oxygen that each patient needs")
    parser.add_argument("--flow", type=float, required=True, metavar="L_MIN", help="flow in litres a minute")
    parser.add_argument("--patients", type=int, default=1, help="how many patients at once (default 1)")
    parser.add_argument("--long-chance", type=float, default=0.0, metavar="SHARE", help="chance of a long wait, 0 to 1")
    parser.add_argument("--long-hours", type=float, metavar="HOURS", help="how long it then takes (default: twice)")
    parser.add_argument("--confidence", type=float, default=0.95, metavar="SHARE", help="share of cases to cover")
    parser.add_argument("--size", action="append", metavar="SIZE", help="only this size of the kit; may be repeated")
    parser.add_argument("--celsius", type=float, help="how cold or hot the cylinders will be")
    parser.add_argument("--kit", type=Path, metavar="FILE.toml", help="the cylinders and regulators you carry")
    parser.add_argument("--json", action="store_true", help="print one JSON object, for other programs")


def run(args: Namespace) -> int:
    """Plan and print."""
    from assistant.oxygen.plan import plan_trip
    from assistant.oxygen.refusal import OxygenError

    try:
        plan = plan_trip(
            hours=args.hours,
            patients=args.patients,
            flow_l_min=args.flow,
            kit=kit_of(args),
            long_chance=args.long_chance,
            long_hours=args.long_hours,
            confidence=args.confidence,
            sizes=args.size,
            celsius=args.celsius,
        )
    except OxygenError as error:
        raise UserError(str(error)) from error
    if args.json:
        print(json.dumps(plan.as_json()))
        return 0
    from rich.console import Console

    from assistant.screens.plan_view import show_plan

    show_plan(plan, Console(highlight=False))
    return 0
