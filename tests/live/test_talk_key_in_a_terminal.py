"""`listen` spoken to while a key of a terminal is held: of one that repeats it, and of one that tells of its release.

The terminal is a pseudo terminal whose other end is the test; the microphone is that of the test's sound server.
"""

from __future__ import annotations

import fcntl
import os
import pty
import re
import struct
import termios
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.live.conftest import COMMAND_WAV, MICROPHONE, SAMPLES, SoundServer, assistant, within

pytestmark = [pytest.mark.slow, pytest.mark.vosk]
ROWS, COLUMNS = 40, 200
# What a terminal sends and takes, by the keyboard protocol's own page.
ASKED, ANSWER, BEGUN, OVER, RELEASED = "\x1b[?u", "\x1b[?0u", "\x1b[>3u", "\x1b[<u", "\x1b[32;1:3u"
WHERE, TOP = "\x1b[6n", "\x1b[1;1R"
REPEATED_AFTER_S, REPEATED_EVERY_S = 0.4, 0.03
SATURATION_WAV = SAMPLES / "saturation-ninety-one.flite-slt.wav"


class Terminal:
    """Runs `listen`; `tells` is whether it knows the protocol."""

    def __init__(self, sound: SoundServer, folder: Path, *, tells: bool) -> None:
        self.tells = tells
        self.written = ""
        self._let_go = threading.Event()
        self._end, other = pty.openpty()
        fcntl.ioctl(other, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
        sound.environment["TERM"] = "xterm"
        command = assistant("listen", "--microphone", MICROPHONE, "--record", str(folder / "record"), "--new", "--mute")
        self.process = sound.start(
            [*command, "--address", "key"], stdin=other, stdout=other, stderr=other, start_new_session=True
        )
        os.close(other)
        threading.Thread(target=self._read, daemon=True).start()
        self.shows("waiting")

    def _read(self) -> None:
        while True:
            try:
                written = os.read(self._end, 4096).decode("utf-8", "replace")
            except OSError:
                return
            self.written += written
            if WHERE in written:
                self.send(TOP)
            if self.tells and ASKED in self.written:
                self.tells = False
                self.send(ANSWER)

    def send(self, keys: str) -> None:
        os.write(self._end, keys.encode())

    def hold(self) -> threading.Thread:
        """The space bar goes down, and repeats until it is let go of."""

        def held() -> None:
            self.send(" ")
            wait_s = REPEATED_AFTER_S
            while not self._let_go.wait(wait_s):
                self.send(" ")
                wait_s = REPEATED_EVERY_S

        self._let_go.clear()
        thread = threading.Thread(target=held, daemon=True)
        thread.start()
        return thread

    def let_go(self, *sent: str) -> None:
        self._let_go.set()
        for each in sent:
            self.send(each)

    def shows(self, words: str, seconds: float = 60.0) -> str:
        def there() -> str | None:
            assert self.process.poll() is None, self.written
            text = " ".join(re.sub(r"\x1b\[[\x30-\x3f]*[\x20-\x2f]*[\x40-\x7e]", " ", self.written).split())
            return text if words in text else None

        return str(within(seconds, there, f"{words!r} on the terminal", lambda: self.written))

    def leave(self) -> None:
        self.send("/leave\r")
        assert self.process.wait(20) == 0

    def close(self) -> None:
        os.close(self._end)


@pytest.fixture(params=[False, True], ids=["repeats", "tells of releases"])
def terminal(request: pytest.FixtureRequest, sound: SoundServer, tmp_path: Path) -> Iterator[Terminal]:
    opened = Terminal(sound, tmp_path, tells=request.param)
    time.sleep(2.0)  # the sound server gives its first samples
    yield opened
    opened.close()


def said(sound: SoundServer, wav: Path) -> None:
    assert sound.speak(wav).wait(30) == 0


def test_what_is_said_while_the_key_is_held_is_heard_and_nothing_after_it(
    terminal: Terminal, sound: SoundServer, request: pytest.FixtureRequest
) -> None:
    tells = "tells of releases" in request.node.name
    assert (BEGUN in terminal.written) == tells
    said(sound, SATURATION_WAV)  # before the key is held
    terminal.hold()
    sound.speak_until(COMMAND_WAV, lambda seconds: terminal.shows("About thirteen minutes", seconds))
    terminal.let_go(*((RELEASED,) if tells else ()))
    time.sleep(1.5)
    said(sound, SATURATION_WAV)  # and after it
    time.sleep(3.0)
    assert "aturation" not in terminal.shows("About thirteen minutes")
    terminal.leave()
    assert (OVER in terminal.written) == tells


def test_a_key_struck_once_waits_for_what_is_said(terminal: Terminal, sound: SoundServer) -> None:
    terminal.send(" ")
    if BEGUN in terminal.written:
        terminal.send(RELEASED)
    time.sleep(1.5)
    said(sound, COMMAND_WAV)
    terminal.shows("About thirteen minutes")
    terminal.leave()
