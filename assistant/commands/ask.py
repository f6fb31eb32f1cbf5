"""`ask`: one typed utterance, one answer."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from assistant.app import SetClock
from assistant.commands.opening import add_conversation_options, session_from
from assistant.meaning.typed import typed

HELP = "one typed utterance, one answer"


def add_arguments(parser: ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument("text", nargs="+", metavar="TEXT", help='for example "bottle reads 1500, small, 15 litres"')
    add_conversation_options(parser, ears=False)
    parser.add_argument("--engine", choices=["vosk", "pocketsphinx"], help="accepted, and not needed for typed text")


def run(args: Namespace) -> int:
    """Answer and leave."""
    session = session_from(args, SetClock())
    session.hear(typed(" ".join(args.text), session.setting.grammar))
    return 0
