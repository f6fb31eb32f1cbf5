"""Keys of a terminal that tells of releases, and of one that does not, at the prompt itself."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator

import pytest
from prompt_toolkit import PromptSession
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import PipeInput, create_pipe_input
from prompt_toolkit.keys import Keys
from prompt_toolkit.output import DummyOutput

from assistant.screens.key_release import ANSWERED_AS, ASKED, BEGUN, LET_GO_AS, OVER, Told
from assistant.screens.prompt import TalkKeys

PRESSED, REPEATED, RELEASED = 1, 2, 3


def key(code: int, event: int, changed: int = 1) -> str:
    """As the protocol has it: CSI code ; modifiers : event u."""
    return f"\x1b[{code};{changed}:{event}u"


@pytest.mark.parametrize(
    ("sent", "old"),
    [
        ("flow six\r", "flow six\r"),
        ("a" + key(97, RELEASED), "a" + LET_GO_AS),
        ("\x1b[97;1:3u\x1b[1;1:3A\x1b[3;1:3~", LET_GO_AS * 3),
        ("\x1b[?3u", ANSWERED_AS),
        ("\x1b[?62;4c", "\x1b[?62;4c"),
        ("\x1b[27u", "\x1b"),
        ("\x1b[27;1:1u", "\x1b"),
        ("\x1b[100;5u\x1b[99;5:1u", "\x04\x03"),
        ("\x1b[32;5u", "\x00"),
        ("\x1b[9;2u", "\x1b[Z"),
        ("\x1b[98;3u", "\x1bb"),
        ("\x1b[97:65;2;65u", "A"),
        ("\x1b[57441;2:1u", ""),
        ("\x1b[A\x1b[1;5C\x1b[3~\x1b[12;40R", "\x1b[A\x1b[1;5C\x1b[3~\x1b[12;40R"),
        ("\x1b[200~x\x1b[201~", "\x1b[200~x\x1b[201~"),
        ("\x1b[1;1:2A\x1b[1;5:1C\x1b[3;1:2~", "\x1b[A\x1b[1;5C\x1b[3~"),
        ("\x1b[1114112;1:1u\x1b[;u", ""),
    ],
)
def test_what_is_sent_becomes_the_old_sequences(sent: str, old: str) -> None:
    assert Told().plain(sent) == old


@pytest.mark.parametrize("cut", range(1, 9))
def test_a_sequence_that_comes_in_two_parts_is_one(cut: int) -> None:
    told, sent = Told(), "ab" + key(98, RELEASED)
    assert told.plain(sent[: 2 + cut]) + told.plain(sent[2 + cut :]) in ("ab" + LET_GO_AS, "ab" + sent[2:])
    if cut > 1:  # Escape alone is not waited for: it may be the key
        told = Told()
        assert told.plain(sent[: 2 + cut]) == "ab"
        assert told.plain(sent[2 + cut :]) == LET_GO_AS


class Noted(DummyOutput):
    """Keeps what is written raw."""

    def __init__(self) -> None:
        self.raw: list[str] = []

    def write_raw(self, data: str) -> None:
        self.raw.append(data)


class Prompt:
    """A prompt whose keys are noted, and which is fed as a terminal feeds it."""

    def __init__(self, pipe: PipeInput, *, every_key: bool = True) -> None:
        self.pipe = pipe
        self.told = Told()
        self.done: list[str] = []
        self.output = Noted()
        self.keys = TalkKeys(
            press=lambda: self.done.append("press"),
            hold=lambda: self.done.append("hold"),
            let_go=lambda: self.done.append("let go"),
            every_key=lambda: every_key,
        )

    def line(self, *sent: str) -> str:
        """The line that comes of what is sent, Enter after it."""

        async def run() -> str:
            session: PromptSession[str] = PromptSession(
                key_bindings=self.keys.bindings, input=self.pipe, output=self.output
            )
            with self.keys.asking(session):
                line = asyncio.ensure_future(session.prompt_async())
                for each in (*sent, "/done", "\r"):
                    await asyncio.sleep(0.05)
                    self.pipe.send_text(self.told.plain(each))
                return await asyncio.wait_for(line, 10)

        with create_app_session(input=self.pipe, output=self.output):
            return asyncio.run(run())


@pytest.fixture
def pipe() -> Iterator[PipeInput]:
    with create_pipe_input() as opened:
        yield opened


def test_a_terminal_that_answers_tells_of_the_hold_and_its_end(pipe: PipeInput) -> None:
    prompt = Prompt(pipe)
    line = prompt.line("\x1b[?0u", " ", " ", " " + key(32, RELEASED))
    assert prompt.done == ["hold", "hold", "hold", "let go"]
    assert prompt.output.raw == [ASKED, BEGUN, OVER]
    assert line == "/done"


def test_one_that_does_not_answer_is_left_as_it_is(pipe: PipeInput) -> None:
    prompt = Prompt(pipe)
    prompt.line(" ", " ")
    assert prompt.done == ["press", "press"]
    assert prompt.output.raw == [ASKED]


def test_keys_that_are_typed_and_let_go_of_are_no_talk(pipe: PipeInput) -> None:
    prompt = Prompt(pipe, every_key=False)
    assert prompt.line("\x1b[?0u", "o", "k" + key(111, RELEASED), key(107, RELEASED)) == "ok/done"
    assert prompt.done == []


def test_a_release_that_is_read_together_with_its_stroke_comes_after_it(pipe: PipeInput) -> None:
    prompt = Prompt(pipe)
    prompt.line("\x1b[?0u", " " + key(32, RELEASED))
    assert prompt.done == ["hold", "let go"]


def test_the_two_function_keys_stand_for_themselves_in_the_old_sequences() -> None:
    from prompt_toolkit.input.ansi_escape_sequences import ANSI_SEQUENCES

    assert (ANSI_SEQUENCES[ANSWERED_AS], ANSI_SEQUENCES[LET_GO_AS]) == (Keys.F23, Keys.F24)
