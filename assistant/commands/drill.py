"""`drill`: an incident played for training, with no gas: faults by seed, times and misses scored, the record kept.

Typed here, or played from a file of `replay` lines, typed or spoken. Say "look", or press Enter, to see the gauge.
"""

from __future__ import annotations

import json
import sys
import threading
from argparse import ArgumentParser, Namespace
from collections.abc import Iterable
from functools import partial
from pathlib import Path
from queue import Empty, Queue
from typing import TYPE_CHECKING

from assistant.app import SetClock, SteadyClock
from assistant.commands.drill_session import DrillSession
from assistant.commands.opening import (
    UserError,
    add_conversation_options,
    notice,
    screen_for,
    session_from,
    setting_from,
)
from assistant.commands.replay import LineError, Listener, opened, read_line
from assistant.meaning.typed import typed

if TYPE_CHECKING:
    from assistant.journal import Journal

HELP = "an incident with faults, played for training with no gas, and scored"
_TICK_S = 0.25
_LOOK = ("", "look")


def add_arguments(parser: ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument("--seed", type=int, default=1, help="which drill: the same number gives the same faults")
    parser.add_argument(
        "--replay", metavar="FILE.jsonl", help="play these lines on a simulated clock; - is standard input"
    )
    parser.add_argument("--record", type=Path, metavar="DIR", help="keep the record here (live: the usual folder)")
    add_conversation_options(parser)


def run(args: Namespace) -> int:
    """Play the drill; print the score sheet at its end."""
    if args.replay is None and not sys.stdin.isatty():
        raise UserError("a live drill is typed at a terminal; use --replay FILE.jsonl for a file")
    journal = _journal(args)
    clock = SteadyClock() if args.replay is None else SetClock()
    made = partial(DrillSession, seed=args.seed)
    session = session_from(args, clock, setting=setting_from(args), record=journal, made=made)
    assert isinstance(session, DrillSession)
    try:
        status = _live(session) if args.replay is None else _played(args, session, clock)
    finally:
        if journal is not None:
            journal.finish(session.state.at_s)
    _show_sheet(args, session)
    if journal is not None:
        notice(f"The record of this drill: {journal.path}")
    return status


def _journal(args: Namespace) -> Journal | None:
    if args.replay is not None and args.record is None:
        return None
    from assistant.journal import Journal, default_folder

    return Journal.create(args.record or default_folder())


def _show_sheet(args: Namespace, session: DrillSession) -> None:
    from assistant.screens.drill_view import sheet_json, show_sheet

    if args.json:
        print(json.dumps(sheet_json(session.sheet()), ensure_ascii=False))
        return
    from rich.console import Console

    show_sheet(session.sheet(), Console())


def _played(args: Namespace, session: DrillSession, clock: SetClock | SteadyClock) -> int:
    """The lines of a file on a simulated clock; status 2 where one could not be used."""
    assert isinstance(clock, SetClock)
    lines, folder = opened(args.replay)
    hear, screen, status = Listener(args, session), screen_for(args), 0
    for number, text in enumerate(lines, start=1):
        try:
            line = read_line(text, earliest_s=clock.now_s(), folder=folder)
            look = line.text is not None and line.text.strip().casefold() in _LOOK
            utterance = None if look else hear.utterance(line)
        except LineError as error:
            screen.show_error(number, str(error))
            status = 2
            continue
        clock.set(line.at_s)
        session.pass_time()
        if look:
            session.look()
        elif utterance is not None:
            session.hear(utterance)
    return status


def _live(session: DrillSession) -> int:
    """Typed lines as they come, cues and alerts as they fall due, until the drill or the input is over."""
    typing: Queue[str | None] = Queue()
    threading.Thread(target=_read, args=(sys.stdin, typing), daemon=True).start()
    session.pass_time()
    while not session.over:
        try:
            line = typing.get(timeout=_TICK_S)
        except Empty:
            session.pass_time()
            continue
        if line is None:
            break
        session.pass_time()
        if line.strip().casefold() in _LOOK:
            session.look()
        else:
            session.hear(typed(line, session.setting.grammar))
    return 0


def _read(lines: Iterable[str], into: Queue[str | None]) -> None:
    for line in lines:
        into.put(line)
    into.put(None)
