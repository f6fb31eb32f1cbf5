"""`demo`: the main job on the recorded samples, as a conversation to read and, where there is a speaker, to hear."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from assistant import shelf
from assistant.commands.opening import add_conversation_options
from assistant.commands.replay import play

HELP = "the main job on recorded speech: heard, answered, printed"


def add_arguments(parser: ArgumentParser) -> None:
    """The command's arguments."""
    add_conversation_options(parser)
    parser.set_defaults(speak=True)
    parser.add_argument("--mute", dest="speak", action="store_false", help="print only")


def run(args: Namespace) -> int:
    """Play the demo's conversation."""
    script = shelf.demo_script()
    if not args.json:
        print("A marsh island. A patient who breathed smoke. A boat is due in seventy minutes.\n")
    return play(args, script.read_text(encoding="utf-8").splitlines(), script.parent)
