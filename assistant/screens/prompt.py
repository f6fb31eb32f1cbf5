"""Lines typed at a terminal's prompt: completion by Tab, history, lines below that are renewed each second, no colour.

Gives the lines one by one; what others print meanwhile comes out above the prompt.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from prompt_toolkit import PromptSession
from prompt_toolkit.filters import Condition
from prompt_toolkit.history import InMemoryHistory
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent
from prompt_toolkit.keys import Keys
from prompt_toolkit.output import ColorDepth

from assistant.screens.completing import GrammarCompleter

if TYPE_CHECKING:
    from assistant.grammar.continuation import Continuations

REFRESHED_EVERY_S = 0.5


def typed_lines(
    toolbar: Callable[[], str],
    continuations: Callable[[], Continuations | None],
    *,
    bindings: KeyBindings | None = None,
) -> Iterator[str]:
    """Each line until the end of input; Ctrl-C only clears the line."""
    prompt: PromptSession[str] = PromptSession(
        message="> ",
        history=InMemoryHistory(),
        completer=GrammarCompleter(continuations),
        complete_while_typing=False,
        bottom_toolbar=toolbar,
        color_depth=ColorDepth.DEPTH_1_BIT,
        reserve_space_for_menu=4,
        key_bindings=bindings,
    )
    while True:
        try:
            yield prompt.prompt(refresh_interval=REFRESHED_EVERY_S)
        except KeyboardInterrupt:
            continue
        except EOFError:
            return


def talk_keys(press: Callable[[], None], *, every_key: Callable[[], bool]) -> KeyBindings:
    """Keys that talk or interrupt: Escape always; while `every_key` says so, any key on an empty line but "/"."""
    keys = KeyBindings()

    @keys.add(Keys.Escape, eager=True)
    def _(event: KeyPressEvent) -> None:
        press()

    @keys.add(Keys.Any, filter=Condition(every_key))
    def _(event: KeyPressEvent) -> None:
        buffer = event.current_buffer
        if buffer.text or event.data == "/" or not event.data.isprintable():
            buffer.insert_text(event.data)
        else:
            press()

    @keys.add(Keys.Enter, filter=Condition(every_key))
    def _(event: KeyPressEvent) -> None:
        if event.current_buffer.text:
            event.current_buffer.validate_and_handle()
        else:
            press()

    return keys
