"""`plan`: how many cylinders to carry, before leaving; or, with `--have`, how to use those at hand."""

from __future__ import annotations

import json
from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assistant.commands.opening import UserError, kit_of

if TYPE_CHECKING:
    from rich.console import Console

    from assistant.oxygen.kit import Kit
    from assistant.oxygen.lasting import Held

HELP = "how many cylinders for how long a trip, before leaving"


def add_arguments(parser: ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument("--hours", type=float, required=True, help="hours of oxygen that each patient needs")
    parser.add_argument("--flow", type=float, required=True, metavar="L_MIN", help="flow in litres a minute")
    parser.add_argument("--patients", type=int, default=1, help="how many patients at once (default 1)")
    parser.add_argument("--long-chance", type=float, default=0.0, metavar="SHARE", help="chance of a long wait, 0 to 1")
    parser.add_argument("--long-hours", type=float, metavar="HOURS", help="how long it then takes (default: twice)")
    parser.add_argument("--confidence", type=float, default=0.95, metavar="SHARE", help="share of cases to cover")
    parser.add_argument(
        "--have",
        action="append",
        metavar="'SIZE GAUGE'",
        help="a cylinder at hand, with what its gauge reads ('small 1500'); may be repeated: the order to use them in",
    )
    parser.add_argument("--size", action="append", metavar="SIZE", help="only this size of the kit; may be repeated")
    parser.add_argument("--celsius", type=float, help="how cold or hot the cylinders will be")
    parser.add_argument("--kit", type=Path, metavar="FILE.toml", help="the cylinders and regulators you carry")
    parser.add_argument("--json", action="store_true", help="print one JSON object, for other programs")


def run(args: Namespace) -> int:
    """Plan and print."""
    from assistant.oxygen.refusal import OxygenError

    try:
        return _use_those_at_hand(args) if args.have else _plan_what_to_carry(args)
    except OxygenError as error:
        raise UserError(str(error)) from error


def _plan_what_to_carry(args: Namespace) -> int:
    from assistant.oxygen.plan import plan_trip
    from assistant.screens.plan_view import show_plan

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
    return _shown(plan, show_plan, as_json=args.json)


def _use_those_at_hand(args: Namespace) -> int:
    from assistant.oxygen.at_hand import at_hand
    from assistant.screens.at_hand_view import show_at_hand

    kit = kit_of(args)
    held = [_held(number, said, kit) for number, said in enumerate(args.have, 1)]
    found = at_hand(
        held,
        minutes=60 * args.hours,
        flow_l_min=args.flow,
        patients=args.patients,
        kit=kit,
        celsius=args.celsius,
    )
    return _shown(found, show_at_hand, as_json=args.json)


def _shown(found: Any, show: Callable[[Any, Console], None], *, as_json: bool) -> int:
    from rich.console import Console

    if as_json:
        print(json.dumps(found.as_json()))
    else:
        show(found, Console(highlight=False))
    return 0


def _held(number: int, said: str, kit: Kit) -> Held:
    """A cylinder from "small 1500": the kit's size or name, and the gauge in the kit's unit."""
    from assistant.dialogue.checks import HIGHEST_BAR
    from assistant.oxygen.lasting import Held
    from assistant.quantity import convert

    size, _, reading = said.strip().rpartition(" ")
    cylinder = kit.cylinder(size.strip())
    if cylinder is None:
        named = ", ".join(one.called[0] if one.called else one.size for one in kit.cylinders)
        raise UserError(f"--have {said!r}: the kit has {named}; say one with what its gauge reads, as 'small 1500'.")
    try:
        bar = convert(float(reading), kit.pressure_unit, "bar")
    except ValueError:
        raise UserError(f"--have {said!r}: {reading!r} is no gauge reading.") from None
    if not 0 <= bar <= HIGHEST_BAR:
        raise UserError(f"--have {said!r}: no cylinder holds that.")
    return Held(name=f"{number}: {size.strip()}, {reading} {kit.pressure_unit}", spec=cylinder.spec, pressure_bar=bar)
