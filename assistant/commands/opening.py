"""What the conversation commands share: their options, and a session opened from them."""

from __future__ import annotations

import gc
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.app import Clock, Record, Session, kit_from, setting_for
from assistant.dialogue.turn import Setting, Turn
from assistant.incident.events import AlertRaised
from assistant.incident.state import State
from assistant.screens.json_lines import JsonLines

if TYPE_CHECKING:
    from assistant.hearing.recogniser import Recogniser, SpokenGrammar
    from assistant.oxygen.kit import Kit
    from assistant.screens.transcript import Transcript
    from assistant.speaking.mouth import Mouth


class UserError(Exception):
    """Something the user can mend; its message is one clear line."""


def add_conversation_options(parser: ArgumentParser, *, ears: bool = True) -> None:
    """`--json`, `--kit`, `--voice-out`, `--speak` and, where there is something to hear, `--engine` and `--model`."""
    parser.add_argument("--json", action="store_true", help="print one JSON object a line, for other programs")
    parser.add_argument("--kit", type=Path, metavar="FILE.toml", help="the cylinders and regulators you carry")
    parser.add_argument("--voice-out", type=Path, metavar="DIR", help="also write each reply as a WAV file into DIR")
    parser.add_argument("--speak", action="store_true", help="say the replies aloud, where there is a speaker")
    if ears:
        add_engine_options(parser)


def add_engine_options(parser: ArgumentParser) -> None:
    """`--engine` and `--model`."""
    parser.add_argument("--engine", choices=["vosk", "pocketsphinx"], help="the speech recogniser; vosk hears better")
    parser.add_argument("--model", type=Path, metavar="DIR", help="a vosk model folder of your own")


def notice(line: str) -> None:
    """A line for the user that is no part of the output."""
    print(line, file=sys.stderr)


class Spoken:
    """A screen with a voice: shows first, then speaks, and writes the replies as numbered WAV files where asked."""

    def __init__(self, screen: JsonLines | Transcript, mouth: Mouth, *, aloud: bool, folder: Path | None) -> None:
        self._screen = screen
        self._mouth = mouth
        self._aloud = aloud
        self._folder = folder
        self._count = 0

    def show_turn(self, turn: Turn, state: State) -> None:
        self._screen.show_turn(turn, state)
        self._say(turn.reply, "reply")

    def show_alert(self, alert: AlertRaised, state: State) -> None:
        self._screen.show_alert(alert, state)
        self._say(alert.say, "alert")

    def show_prompt(self, at_s: float, say: str, state: State) -> None:
        self._screen.show_prompt(at_s, say, state)
        self._say(say, "prompt")

    def _say(self, text: str, what: str) -> None:
        if not text:
            return
        self._count += 1
        if self._folder is not None:
            self._mouth.save(text, self._folder / f"{self._count:03d}-{what}.wav")
        if self._aloud:
            self._mouth.speak(text)


def screen_for(args: Namespace) -> JsonLines | Transcript:
    """JSON lines where asked, else the conversation for a person."""
    if args.json:
        return JsonLines(sys.stdout)
    from rich.console import Console

    from assistant.screens.transcript import Transcript

    return Transcript(Console(highlight=False))


def kit_of(args: Namespace) -> Kit:
    """The kit by the options. Raises UserError."""
    from assistant.oxygen.kit import KitError

    try:
        return kit_from(args.kit)
    except OSError as error:
        raise UserError(f"{args.kit}: cannot be read ({error.strerror})") from error
    except UnicodeDecodeError as error:
        raise UserError(f"{args.kit}: is not a text file") from error
    except KitError as error:
        raise UserError(str(error)) from error


def setting_from(args: Namespace) -> Setting:
    """Kit, grammar and procedures by the options. Raises UserError."""
    return setting_for(kit_of(args))


def session_from(
    args: Namespace,
    clock: Clock,
    *,
    setting: Setting | None = None,
    screen: JsonLines | Transcript | None = None,
    record: Record | None = None,
    made: Callable[..., Session] = Session,
) -> Session:
    """A session that shows, and where asked speaks, what comes out; `made` makes it."""
    shown: JsonLines | Transcript | Spoken = screen or screen_for(args)
    if args.speak or args.voice_out is not None:
        from assistant.speaking.mouth import open_mouth

        shown = Spoken(shown, open_mouth(notice=notice), aloud=args.speak, folder=args.voice_out)  # type: ignore[arg-type]
    session = made(setting or setting_from(args), clock, shown, record=record)
    gc.freeze()  # what is loaded stays: the garbage collector need not go through it in the midst of a turn
    return session


def ears_from(args: Namespace, session: Session) -> Recogniser:
    """The recogniser by the options, which listens for an answer while a question is open. Raises UserError."""
    from assistant.hearing.answering import AnsweringGrammar

    ears, answering = bare_ears_from(args, session.setting), AnsweringGrammar(session.setting.grammar)
    return listening_for(answering, ears, args.model, lambda: session.state.question is not None)


def listening_for(
    answering: SpokenGrammar, ears: Recogniser, model: Path | None, awaits: Callable[[], bool]
) -> Recogniser:
    """The same ears, which listen for an answer while one is awaited; what that takes is opened at the first time."""
    from assistant.hearing.answering import AttentiveEars
    from assistant.hearing.recogniser import open_for_answers

    return AttentiveEars(ears, lambda: open_for_answers(ears.name, answering, model=model) or ears, awaits)


def bare_ears_from(args: Namespace, setting: Setting) -> Recogniser:
    """The recogniser by the options. Raises UserError."""
    from assistant import shelf
    from assistant.hearing.errors import HearingError
    from assistant.hearing.recogniser import open_recogniser

    try:
        return open_recogniser(
            args.engine, setting.grammar, model=args.model, pronunciations=shelf.pronunciations(), notice=notice
        )
    except HearingError as error:
        raise UserError(str(error)) from error
