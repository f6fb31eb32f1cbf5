"""Terminals that tell when a key is let go of: takes what they send, gives what other programs understand of it.

By the progressive keyboard protocol: the terminal is asked (`ASKED`), answers if it knows it, is told to tell of
releases (`BEGUN`) and to stop (`OVER`). Its sequences are made into the old ones; a release into a function key that
hardly a keyboard has. A terminal that does not know it never answers, and nothing changes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Protocol

from prompt_toolkit.keys import Keys

if TYPE_CHECKING:
    from prompt_toolkit.input.base import Input

ASKED = "\x1b[?u"
# 1: keys that are no text come as sequences of their own; 2: with their repeats and releases.
BEGUN = "\x1b[>3u"
OVER = "\x1b[<u"

# Function keys that hardly a keyboard has (Shift-F11, Shift-F12) stand for what the old sequences have no word for.
ANSWERED, ANSWERED_AS = Keys.F23, "\x1b[23;2~"
LET_GO, LET_GO_AS = Keys.F24, "\x1b[24;2~"

# CSI key ; modifiers : event u, and the same with the old sequences' last letters.
SEQUENCE = re.compile(r"\x1b\[(?P<answer>\?)?(?P<key>[\d:]*)(?:;(?P<changed>\d*)(?::(?P<event>\d+))?(?:;[\d:]*)?)?"
                      r"(?P<last>[u~A-FHPQS])")  # fmt: skip
UNFINISHED = re.compile(r"\x1b\[[?\d:;]*$")
RELEASE = "3"
SHIFT, ALT, CONTROL = 1, 2, 4
# Keys without text, shift and lock keys among them, are told in this private range of Unicode.
WITHOUT_TEXT = range(0xE000, 0xF900)
BACK_TAB = "\x1b[Z"


class Told:
    """What a terminal sends, bit by bit, as the old sequences."""

    def __init__(self) -> None:
        self._rest = ""

    def plain(self, sent: str) -> str:
        """The old sequences; one whose end has not come yet is kept until it has."""
        whole = self._rest + sent
        cut = UNFINISHED.search(whole)
        self._rest = "" if cut is None else cut.group()
        return SEQUENCE.sub(_old, whole[: len(whole) - len(self._rest)])


def _old(found: re.Match[str]) -> str:
    if found["answer"]:
        return ANSWERED_AS if found["last"] == "u" else found.group()
    if found["event"] == RELEASE:
        return LET_GO_AS
    changed = max(0, int(found["changed"] or 1) - 1)
    if found["last"] == "u":
        return _text(found["key"], changed)
    if found["event"] is None:
        return found.group()
    if changed:
        return f"\x1b[{found['key']};{changed + 1}{found['last']}"
    return f"\x1b[{found['key'] if found['last'] == '~' else ''}{found['last']}"


def _text(key: str, changed: int) -> str:
    codes = [int(code) for code in key.split(":") if code]
    if not codes or codes[0] in WITHOUT_TEXT or codes[0] > 0x10FFFF:
        return ""
    char = chr(codes[0])
    if char == "\t" and changed & SHIFT:
        return BACK_TAB
    if changed & SHIFT:
        char = chr(codes[1]) if len(codes) > 1 else char.upper()
    if changed & CONTROL and (char == " " or "@" <= char.upper() <= "_"):
        char = chr(ord(char.upper()) & 0x1F)
    return f"\x1b{char}" if changed & ALT else char


class _Reader(Protocol):
    @property
    def closed(self) -> bool: ...
    def read(self, count: int = 1024) -> str: ...


class _PlainReader:
    """Reads a terminal as `Told` has it."""

    def __init__(self, reader: _Reader) -> None:
        self._reader = reader
        self._told = Told()

    @property
    def closed(self) -> bool:
        return self._reader.closed

    def read(self, count: int = 1024) -> str:
        return self._told.plain(self._reader.read(count))


@contextmanager
def telling_input() -> Iterator[Input | None]:
    """Standard input read as `Told` has it, without an echo between prompts; None where there is no such terminal."""
    try:
        import termios

        from prompt_toolkit.input.vt100 import Vt100Input
    except ImportError:
        yield None
        return
    import sys

    terminal = Vt100Input(sys.stdin)
    setattr(terminal, "stdin_reader", _PlainReader(terminal.stdin_reader))  # noqa: B010  (typed as its own reader)
    before = termios.tcgetattr(terminal.fileno())
    quiet = [*before]
    quiet[3] &= ~termios.ECHO  # a key's release between two prompts would be written out
    termios.tcsetattr(terminal.fileno(), termios.TCSANOW, quiet)
    try:
        yield terminal
    finally:
        with suppress(termios.error):
            termios.tcsetattr(terminal.fileno(), termios.TCSANOW, before)
