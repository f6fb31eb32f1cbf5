"""`replay`: a whole incident from JSON lines, on a simulated clock."""

from __future__ import annotations

import json
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assistant.app import Session, SetClock
from assistant.commands.opening import (
    UserError,
    add_conversation_options,
    ears_from,
    screen_for,
    session_from,
    setting_from,
)
from assistant.commands.recording import add_record_options, new_record, passphrase_from
from assistant.meaning.typed import typed
from assistant.utterance import Utterance

if TYPE_CHECKING:
    from assistant.journal import Journal

HELP = "a whole incident on a simulated clock, from JSON lines"


# A hundred years, in which any clock stays exact to a millisecond.
LATEST_S = 3.2e9


class LineError(Exception):
    """An input line that cannot be used; the message says why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class InputLine:
    """One line: when, and what was typed (`text`), said (`wav`), or neither (only the clock moves)."""

    at_s: float
    text: str | None = None
    wav: Path | None = None


def add_arguments(parser: ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument("file", metavar="FILE.jsonl", help='lines like {"at_s": 0, "text": "..."}; - is standard input')
    add_conversation_options(parser)
    add_record_options(parser, live=False)


def run(args: Namespace) -> int:
    """Play the file; lines that cannot be used are answered by an error line, and the status is then 2."""
    lines, folder = opened(args.file)
    return play(args, lines, folder)


def play(args: Namespace, lines: Iterable[str], folder: Path) -> int:
    """Play input lines; relative WAV paths are looked up in `folder`."""
    setting, clock, screen = setting_from(args), SetClock(), screen_for(args)
    journal = _journal(args)
    session = session_from(args, clock, setting=setting, screen=screen, record=journal)
    hear = Listener(args, session)
    status = 0
    for number, text in enumerate(lines, start=1):
        if not text.strip():
            continue
        try:
            line = read_line(text, earliest_s=clock.now_s(), folder=folder)
            utterance = hear.utterance(line)
        except LineError as error:
            screen.show_error(number, str(error))
            status = 2
            continue
        _play_line(session, clock, line, utterance)
    if journal is not None:
        journal.finish(clock.now_s())
    return status


def _journal(args: Namespace) -> Journal | None:
    if getattr(args, "record", None) is None:
        return None
    kit_toml = "" if args.kit is None else args.kit.read_text(encoding="utf-8")
    return new_record(args.record, kit_toml=kit_toml, passphrase=passphrase_from(args))


def _play_line(session: Any, clock: SetClock, line: InputLine, utterance: Utterance | None) -> None:
    clock.set(line.at_s)
    if utterance is None:
        session.pass_time()
    else:
        session.hear(utterance)


class Listener:
    """Utterances of input lines; the ears are opened when the first recording comes."""

    def __init__(self, args: Namespace, session: Session) -> None:
        self._args = args
        self._session = session
        self._hear: Callable[[Path], Utterance] | None = None

    def utterance(self, line: InputLine) -> Utterance | None:
        if line.text is not None:
            return typed(line.text, self._session.setting.grammar)
        return None if line.wav is None else self._heard(line.wav)

    def _heard(self, wav: Path) -> Utterance:
        from assistant.hearing.errors import WavError
        from assistant.hearing.wav import read_wav

        try:
            samples = read_wav(wav)
        except WavError as error:
            raise LineError(str(error)) from error
        if self._hear is None:
            ears = ears_from(self._args, self._session)
            self._hear = ears.hear  # type: ignore[assignment]
        return self._hear(samples)  # type: ignore[misc,arg-type]


def read_line(text: str, *, earliest_s: float, folder: Path) -> InputLine:
    """One input line. Raises LineError for what is no line of the contract or goes back in time."""
    try:
        fields = json.loads(text)
    except (ValueError, RecursionError) as error:  # no JSON, or a number with thousands of figures
        raise LineError(f"is not JSON ({error})") from error
    if not isinstance(fields, dict):
        raise LineError("is not a JSON object")
    at_s = fields.get("at_s")
    if isinstance(at_s, bool) or not isinstance(at_s, int | float) or not 0 <= at_s <= LATEST_S:
        raise LineError("at_s must be a number of seconds from 0 up")
    if at_s < earliest_s:
        raise LineError(f"at_s {at_s:g} goes back before {earliest_s:g}")
    return _content(fields, float(at_s), folder)


def _content(fields: dict[str, Any], at_s: float, folder: Path) -> InputLine:
    given = [key for key in ("text", "wav", "wait") if key in fields]
    if len(given) != 1:
        raise LineError("needs one of text, wav, wait")
    if fields.get("wait") is True:
        return InputLine(at_s=at_s)
    value = fields[given[0]]
    if given[0] == "wait" or not isinstance(value, str):
        raise LineError(f"{given[0]} must be {'true' if given[0] == 'wait' else 'a text'}")
    return InputLine(at_s=at_s, text=value) if given[0] == "text" else InputLine(at_s=at_s, wav=folder / value)


def opened(name: str) -> tuple[Iterator[str], Path]:
    """The lines of a file, or of standard input for "-", and the folder they are relative to. Raises UserError."""
    if name == "-":
        return iter(sys.stdin), Path()
    path = Path(name)
    try:
        return iter(path.read_text(encoding="utf-8").splitlines()), path.parent
    except OSError as error:
        raise UserError(f"{name}: cannot be read ({error.strerror})") from error
    except UnicodeDecodeError as error:
        raise UserError(f"{name}: is not a text file") from error
