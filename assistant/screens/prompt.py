"""Lines typed at a terminal's prompt: completion by Tab, history, lines below that are renewed each second, no colour.

Gives the lines one by one; what others print meanwhile comes out above the prompt. With `TalkKeys`, keys talk too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from typing import TYPE_CHECKING

from prompt_toolkit import PromptSession
from prompt_toolkit.filters import Condition
from prompt_toolkit.history import InMemoryHistory
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent
from prompt_toolkit.keys import Keys
from prompt_toolkit.output import ColorDepth, Output

from assistant.screens.completing import GrammarCompleter
from assistant.screens.key_release import ANSWERED, ASKED, BEGUN, LET_GO, OVER, telling_input

if TYPE_CHECKING:
    from assistant.grammar.continuation import Continuations

REFRESHED_EVERY_S = 0.5
# A key that is held repeats thirty times a second: drawing anew each time would take the processor from the ears.
DRAWN_AT_MOST_EVERY_S = 0.05


def typed_lines(
    toolbar: Callable[[], str], continuations: Callable[[], Continuations | None], *, keys: TalkKeys | None = None
) -> Iterator[str]:
    """Each line until the end of input; Ctrl-C only clears the line."""
    with nullcontext() if keys is None else telling_input() as terminal:
        prompt: PromptSession[str] = PromptSession(
            message="> ",
            history=InMemoryHistory(),
            completer=GrammarCompleter(continuations),
            complete_while_typing=False,
            bottom_toolbar=toolbar,
            color_depth=ColorDepth.DEPTH_1_BIT,
            reserve_space_for_menu=4,
            key_bindings=None if keys is None else keys.bindings,
            input=terminal,
        )
        prompt.app.min_redraw_interval = DRAWN_AT_MOST_EVERY_S
        with nullcontext() if keys is None or terminal is None else keys.asking(prompt):
            yield from _lines(prompt)


def _lines(prompt: PromptSession[str]) -> Iterator[str]:
    while True:
        try:
            yield prompt.prompt(refresh_interval=REFRESHED_EVERY_S)
        except KeyboardInterrupt:
            continue
        except EOFError:
            return


class TalkKeys:
    """Keys that talk or interrupt: Escape always; while `every_key` says so, any key on an empty line but "/".

    `press`: a key was struck, or repeats because it is held. Where the terminal tells of releases, a key is `hold`
    from its stroke until `let_go` instead.
    """

    def __init__(
        self,
        *,
        press: Callable[[], None],
        hold: Callable[[], None],
        let_go: Callable[[], None],
        every_key: Callable[[], bool],
    ) -> None:
        self._press = press
        self._hold = hold
        self._let_go = let_go
        self._tells = False
        self._down = False
        self.bindings = self._made(every_key)

    @contextmanager
    def asking(self, prompt: PromptSession[str]) -> Iterator[None]:
        """Asks the terminal to tell of releases, once it is drawn on, and puts it back as it was in the end."""
        output = prompt.app.output

        def ask(_: object) -> None:
            prompt.app.after_render -= ask
            _write(output, ASKED)

        prompt.app.after_render += ask
        try:
            yield
        finally:
            if self._tells:
                self._tells = False
                _write(output, OVER)

    def _struck(self) -> None:
        if self._tells:
            self._down = True
            self._hold()
        else:
            self._press()

    def _made(self, every_key: Callable[[], bool]) -> KeyBindings:
        keys = KeyBindings()

        @keys.add(Keys.Escape, eager=True)
        def _(event: KeyPressEvent) -> None:
            self._press()

        @keys.add(Keys.Any, filter=Condition(every_key))
        def _(event: KeyPressEvent) -> None:
            buffer = event.current_buffer
            if buffer.text or event.data == "/" or not event.data.isprintable():
                buffer.insert_text(event.data)
            else:
                self._struck()

        @keys.add(Keys.Enter, filter=Condition(every_key))
        def _(event: KeyPressEvent) -> None:
            if event.current_buffer.text:
                event.current_buffer.validate_and_handle()
            else:
                self._press()  # its release is never told of

        @keys.add(ANSWERED)
        def _(event: KeyPressEvent) -> None:
            if not self._tells:
                self._tells = True
                _write(event.app.output, BEGUN)

        @keys.add(LET_GO)
        def _(event: KeyPressEvent) -> None:
            if self._down:
                self._down = False
                self._let_go()

        return keys


def _write(output: Output, sequence: str) -> None:
    output.write_raw(sequence)
    output.flush()
