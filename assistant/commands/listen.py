"""`listen`: live microphone in, spoken answers out; lines may be typed as well where there is a terminal."""

from __future__ import annotations

import signal
import sys
import threading
from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from types import FrameType

from assistant.app import Session
from assistant.commands.chat import END, LEAVE, close, continuations_soon, terminal_width, toolbar
from assistant.commands.drill_by_voice import DrillByVoice
from assistant.commands.live_ears import Ears, address_for, ears_for, endpointer_for
from assistant.commands.opening import UserError, notice
from assistant.commands.sitting import Sitting, add_live_options, conversation_of, mouth_of, sitting_from
from assistant.hearing.microphone import Microphone, MicrophoneError
from assistant.live.buttons import Button, ButtonError
from assistant.live.listening import Listening
from assistant.live.voiced import Voiced
from assistant.meaning.typed import typed
from assistant.screens.chat_screen import ChatScreen
from assistant.screens.level import level_bar
from assistant.settings import ADDRESSES
from assistant.speaking.mouth import Mouth, SilentMouth
from assistant.speaking.speech_queue import SpeechQueue
from assistant.utterance import Utterance

HELP = "live microphone, spoken answers"


def add_arguments(parser: ArgumentParser) -> None:
    """The command's arguments."""
    add_live_options(parser)
    parser.add_argument("--microphone", metavar="NAME", help="a microphone by its name or part of it (see check)")
    parser.add_argument("--address", choices=ADDRESSES, help="how it is spoken to: open, by a key, by the call word")
    parser.add_argument(
        "--button", metavar="NAME", help="a headset's button, foot switch or keypad by its name (Linux)"
    )
    parser.add_argument("--mute", action="store_true", help="write the replies, do not speak them")
    parser.add_argument("--drill", type=int, metavar="SEED", help="play the drill of that number instead, by voice")


def run(args: Namespace) -> int:
    """Listen until the end of input, `/end`, or a signal; the incident stays open unless it was ended."""
    args.new = args.new or args.drill is not None
    sitting = _with_options(sitting_from(args), args)
    try:
        if sys.stdin.isatty() and sys.stdout.isatty():
            from prompt_toolkit.patch_stdout import patch_stdout

            with patch_stdout(raw=True):
                return _listen(args, sitting, at_terminal=True)
        return _listen(args, sitting, at_terminal=False)
    except BaseException:
        sitting.recording.journal.close()
        raise


def _with_options(sitting: Sitting, args: Namespace) -> Sitting:
    settings = sitting.settings
    settings = replace(
        settings,
        microphone=args.microphone or settings.microphone,
        button=args.button or settings.button,
        address=args.address or ("key" if args.button else settings.address),
    )
    return replace(sitting, settings=settings)


def _listen(args: Namespace, sitting: Sitting, *, at_terminal: bool) -> int:
    screen = ChatScreen(lambda text: print(text, flush=True), terminal_width, echo=True)
    microphone = Microphone(sitting.settings.microphone, notice=screen.tell)
    try:
        microphone.open()
    except MicrophoneError as error:
        raise UserError(str(error)) from error
    try:
        drill = None if args.drill is None else DrillByVoice(args.drill)
        ears = ears_for(args, sitting) if drill is None else ears_for(args, sitting, besides=drill.spoken)
        live = _Live(sitting, screen, microphone, ears, args.model, _mouth(args, sitting), drill)
        with _button(sitting, live.listening, screen):
            return live.run(_typed if at_terminal else _until_signal)
    finally:
        microphone.close()


@contextmanager
def _button(sitting: Sitting, listening: Listening, screen: ChatScreen) -> Iterator[None]:
    """The button of the settings, watched meanwhile; nothing where there is none. Raises UserError."""
    if sitting.settings.button is None:
        yield
        return
    button = Button(sitting.settings.button, pressed=listening.hold, let_go=listening.let_go, notice=screen.tell)
    try:
        button.start()
    except ButtonError as error:
        raise UserError(str(error)) from error
    try:
        yield
    finally:
        button.stop()


def _mouth(args: Namespace, sitting: Sitting) -> Mouth:
    return SilentMouth() if args.mute else mouth_of(sitting.settings, notice)


class _Live:
    """Microphone, ears, conversation and voice, wired together for one sitting."""

    def __init__(
        self,
        sitting: Sitting,
        screen: ChatScreen,
        microphone: Microphone,
        ears: Ears,
        model: Path | None,
        mouth: Mouth,
        drill: DrillByVoice | None,
    ) -> None:
        self.sitting = sitting
        self.drill = drill
        self.screen = screen
        self.voice = SpeechQueue(mouth, on_change=self._speaking, on_failure=screen.tell)
        made = Session if drill is None else drill.made
        self.conversation = conversation_of(sitting, Voiced(screen, self.voice), self._tell, made=made)
        self.address = address_for(sitting, self.conversation, noticed=lambda: screen.tell("Listening."))
        self.listening = Listening(
            microphone,
            endpointer_for(sitting, ears, self.conversation, model),
            self.address,
            self._hear,
            spotter=ears.spotter,
            hush=self.voice.hush,
            trouble=screen.tell,
        )

    def run(self, lines: Callable[[_Live], Iterator[str]]) -> int:
        """Until the lines end."""
        of_drill = () if self.drill is None else ('A drill: say "look" to see the gauge. /end shows the score.',)
        for line in (_how(self.sitting), *of_drill, *self.sitting.notices):
            self.screen.tell(line)
        self.conversation.start()
        self.listening.start()
        ended = self.drill is not None
        try:
            for line in lines(self):
                if line.strip().lower() in (END, *LEAVE):
                    ended = ended or line.strip().lower() == END
                    break
                if line.strip():
                    self._hear(typed(line, self.sitting.setting.grammar))
        finally:
            self.listening.stop()
            self.conversation.stop()
            self.voice.close()
            close(self.sitting, ended=ended)
        if self.drill is not None:
            self.drill.show_sheet(self.conversation)
        return 0

    @property
    def over(self) -> bool:
        """Whether there is nothing more to come: a drill that was played to its end."""
        return self.drill is not None and self.drill.over(self.conversation)

    def _hear(self, utterance: Utterance) -> None:
        if self.drill is None or not self.drill.looked(self.conversation, utterance):
            self.conversation.hear(utterance)

    def _speaking(self, begun: bool) -> None:
        self.listening.speaking(begun)

    def _tell(self, shown: str, said: str) -> None:
        self.screen.tell(shown)
        self.voice.say(said, "medium")


def _how(sitting: Sitting) -> str:
    match sitting.settings.address:
        case "key":
            if sitting.settings.button:
                return "Hold the button, or strike any key, and speak. /end ends the incident, Ctrl-D leaves it open."
            return "Hold or strike any key, then speak. /end ends the incident, Ctrl-D leaves it open."
        case "call_word":
            return f'Say "{sitting.settings.call_word}", then what you have to say. Escape interrupts. /end ends.'
        case _:
            return 'Speak. "Stop talking" or Escape interrupts. /end ends the incident, Ctrl-D leaves it open.'


def _typed(live: _Live) -> Iterator[str]:
    from assistant.screens.prompt import TalkKeys, typed_lines

    def below() -> str:
        doing = live.listening.doing
        line = f"{level_bar(doing.level_dbfs)} {doing.what} {doing.partial}"
        return f"{line[: terminal_width() - 1]}\n{toolbar(live.conversation)}"

    def every_key() -> bool:
        return live.sitting.settings.address == "key" or live.voice.speaking

    ears = live.listening
    keys = TalkKeys(press=ears.press, hold=ears.hold, let_go=ears.let_go, every_key=every_key)
    yield from typed_lines(below, continuations_soon(live.sitting), keys=keys)


def _until_signal(live: _Live) -> Iterator[str]:
    """No terminal: nothing is typed, and a signal ends it."""
    ended = threading.Event()

    def end(number: int, frame: FrameType | None) -> None:
        ended.set()

    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, end)
    while not ended.wait(0.2) and not live.over:
        pass
    yield from ()
