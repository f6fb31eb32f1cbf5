"""The command line: `oxygen-assistant COMMAND`. Each command is a module of `assistant.commands`, loaded when named."""

from __future__ import annotations

import gc
import sys
from argparse import ArgumentParser, RawDescriptionHelpFormatter
from importlib import import_module
from typing import Any

COMMANDS = ("demo", "ask", "hear", "replay", "drill", "listen", "chat", "serve", "plan", "report", "check")
# Some megabytes. By Python's own 700 it looks for circles many times in a turn, which makes many values and no circle.
NEW_OBJECTS_BEFORE_COLLECTING = 50_000
_ABOUT = """\
A voice assistant for a rescuer who gives oxygen from small cylinders.
It tells the minutes left before the reserve, leads through set-up and speaks up in time.
It is an aid: your protocol and your training decide."""
_EXAMPLES = """\
examples:
  oxygen-assistant demo
  oxygen-assistant ask "bottle reads 1500, small cylinder, 15 litres"
  oxygen-assistant ask "what can I say"
  oxygen-assistant hear reading.wav flow.wav"""


def main(argv: list[str] | None = None) -> int:
    """Run one command; returns the exit status (0 done, 2 wrong usage or unreadable input)."""
    gc.set_threshold(NEW_OBJECTS_BEFORE_COLLECTING)
    arguments = list(sys.argv[1:] if argv is None else argv)
    named = next((word for word in arguments if word in COMMANDS), None)
    parser = _parser(named)
    args = parser.parse_args(arguments)
    if args.command is None:
        parser.print_help()
        return 2
    return _run(_module(args.command), args)


def _module(command: str) -> Any:
    return import_module(f"assistant.commands.{command}")


def _parser(named: str | None) -> ArgumentParser:
    """The parser; only the named command's module is loaded, or all of them where help may be asked."""
    parser = ArgumentParser(
        prog="oxygen-assistant", description=_ABOUT, epilog=_EXAMPLES, formatter_class=RawDescriptionHelpFormatter
    )
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", title="commands")
    for command in COMMANDS:
        if named in (None, command):
            module = _module(command)
            module.add_arguments(commands.add_parser(command, help=module.HELP, description=module.__doc__))
        else:
            commands.add_parser(command)
    return parser


def _run(module: Any, args: Any) -> int:
    from assistant.commands.opening import UserError

    try:
        return int(module.run(args))
    except UserError as error:
        print(f"oxygen-assistant: {error}", file=sys.stderr)
        return 2
    except BrokenPipeError:
        return 0
    except KeyboardInterrupt:
        return 130
