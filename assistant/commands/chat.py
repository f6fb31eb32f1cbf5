"""`chat`: the conversation typed in a terminal, with the live supply at the bottom; alerts come when they fall due."""

from __future__ import annotations

import os
import sys
import threading
from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from assistant.commands.opening import notice
from assistant.commands.sitting import Sitting, add_live_options, conversation_of, mouth_of, sitting_from
from assistant.live.conversation import Conversation
from assistant.meaning.typed import typed
from assistant.screens.chat_screen import ChatScreen
from assistant.screens.supply_line import supply_lines

if TYPE_CHECKING:
    from assistant.app import Screen
    from assistant.grammar.continuation import Continuations
    from assistant.speaking.speech_queue import SpeechQueue

HELP = "the same conversation, typed in a terminal"
WELCOME = "Type what you would say; Tab completes. /end ends the incident, Ctrl-D only leaves it open."
END, LEAVE = "/end", ("/quit", "/leave")
NARROW = 60


def add_arguments(parser: ArgumentParser) -> None:
    """The command's arguments."""
    add_live_options(parser, ears=False)
    parser.add_argument("--speak", action="store_true", help="say the replies and alerts aloud too")


def run(args: Namespace) -> int:
    """Talk until the end of input; the incident stays open for the next start unless it was ended."""
    sitting = sitting_from(args)
    if sys.stdin.isatty() and sys.stdout.isatty():
        from prompt_toolkit.patch_stdout import patch_stdout

        with patch_stdout(raw=True):
            return _talk(args, sitting, _prompted)
    return _talk(args, sitting, _plain)


Lines = Callable[[Sitting, Conversation], Iterator[str]]


def _talk(args: Namespace, sitting: Sitting, lines: Lines) -> int:
    screen = ChatScreen(lambda text: print(text, flush=True), terminal_width)
    voice = _voice(sitting) if args.speak else None

    def tell(shown: str, said: str) -> None:
        screen.tell(shown)
        if voice is not None:
            voice.say(said, "medium")

    conversation = conversation_of(sitting, _shown(screen, voice), tell)
    for line in (WELCOME, *sitting.notices):
        screen.tell(line)
    conversation.start()
    ended = False
    try:
        for line in lines(sitting, conversation):
            if line.strip().lower() in (END, *LEAVE):
                ended = line.strip().lower() == END
                break
            if line.strip():
                conversation.hear(typed(line, sitting.setting.grammar))
    finally:
        conversation.stop()
        if voice is not None:
            voice.close(wait_s=5.0)
        close(sitting, ended=ended)
    return 0


def close(sitting: Sitting, *, ended: bool) -> None:
    """Lets go of the record; an ended incident is not gone on with at the next start."""
    journal = sitting.recording.journal
    if ended:
        journal.finish(sitting.clock.now_s())
        notice(f"The incident is ended. Its record: {journal.path}")
    else:
        journal.close()
    if journal.unsaved:
        notice(f"{journal.unsaved} entries could not be written and are lost: {journal.trouble}")


def _shown(screen: ChatScreen, voice: SpeechQueue | None) -> Screen:
    from assistant.live.voiced import Voiced

    return screen if voice is None else Voiced(screen, voice)


def _voice(sitting: Sitting) -> SpeechQueue:
    from assistant.speaking.speech_queue import SpeechQueue

    return SpeechQueue(mouth_of(sitting.settings, notice), on_failure=notice)


def terminal_width() -> int:
    """Columns, as wide as the terminal is now."""
    try:
        return os.get_terminal_size(sys.__stdout__.fileno()).columns if sys.__stdout__ else NARROW
    except (OSError, ValueError):
        return NARROW


def _plain(sitting: Sitting, conversation: Conversation) -> Iterator[str]:
    """Lines of standard input, where it is no terminal."""
    yield from sys.stdin


def _prompted(sitting: Sitting, conversation: Conversation) -> Iterator[str]:
    """Lines typed at the prompt, with the supply below."""
    from assistant.screens.prompt import typed_lines

    yield from typed_lines(lambda: toolbar(conversation), continuations_soon(sitting))


def toolbar(conversation: Conversation) -> str:
    """The live supply, a line for each cylinder in use."""
    state, at_s = conversation.now()
    lines = supply_lines(state, at_s, conversation.next_due_s(), width=terminal_width() - 1)
    return "\n".join(lines) or "no cylinder yet"


def continuations_soon(sitting: Sitting) -> Callable[[], Continuations | None]:
    """The grammar's continuations, made ready in the background: the first completion may come before they are."""
    found: list[Continuations] = []

    def make() -> None:
        from assistant.hearing.going_on import continuations_of

        found.append(continuations_of(sitting.setting.grammar))

    threading.Thread(target=make, name="completion", daemon=True).start()
    return lambda: found[0] if found else None
