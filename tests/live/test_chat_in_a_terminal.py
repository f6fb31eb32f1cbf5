"""`chat` in a terminal of 60 columns without colour, driven through tmux."""

from __future__ import annotations

import re
import shlex
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.live.conftest import ROOT, assistant, needs, within

pytestmark = pytest.mark.slow

# A foreground or background of some colour; 39 and 49 put back the terminal's own.
COLOUR = re.compile(r"\x1b\[(?:\d+;)*(?:[34][0-8]|9[0-7]|10[0-7])(?:;\d+)*m")


class Terminal:
    """A tmux session with one command in it."""

    def __init__(self, folder: Path) -> None:
        self.tmux = needs("tmux")
        self.socket = folder / "tmux"
        self.folder = folder
        self.started = False

    def run(self, *more: str) -> None:
        command = shlex.join(assistant("chat", "--record", str(self.folder / "record"), *more))
        shell = f"cd {shlex.quote(str(ROOT))} && TERM=screen NO_COLOR=1 {command}; echo ENDED; sleep 60"
        self.call("-f", "/dev/null", "new-session", "-d", "-x", "60", "-y", "24", shell)
        self.started = True

    def call(self, *arguments: str) -> str:
        command = [self.tmux, "-S", str(self.socket), *arguments]
        done = subprocess.run(command, capture_output=True, text=True, timeout=20)
        assert done.returncode == 0, done.stderr
        return done.stdout

    def type(self, *keys: str) -> None:
        self.call("send-keys", *keys)

    def screen(self, *, colours: bool = False) -> str:
        return self.call("capture-pane", "-p", "-S", "-200", *(("-e",) if colours else ()))

    def shows(self, words: str, seconds: float = 30.0) -> str:
        def there() -> str | None:
            text = self.screen()
            return text if words in " ".join(text.split()) else None

        return str(within(seconds, there, f"{words!r} on the screen", self.screen))

    def close(self) -> None:
        if self.started:
            self.call("kill-server")


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[Terminal]:
    opened = Terminal(tmp_path)
    yield opened
    opened.close()


def test_a_sentence_its_answer_and_the_supply_below(terminal: Terminal) -> None:
    terminal.run("--new")
    terminal.shows("minutes not known")  # the line below the prompt: it takes keys now
    terminal.type("bottle reads 1500, small cylinder, 15 litres", "Enter")
    # (1500 - 200) psi x 0.16 L/psi / 15 L/min = 13.9 min: the contract's own example.
    terminal.shows("About thirteen minutes")
    text = terminal.shows("13 min to reserve |")
    assert all(len(line) <= 60 for line in text.splitlines())
    assert not COLOUR.search(terminal.screen(colours=True)), "no colour"


def test_completion_and_history(terminal: Terminal) -> None:
    terminal.run("--new")
    terminal.shows("minutes not known")  # the line below the prompt: it takes keys now
    terminal.type("gauge rea")

    def completed() -> bool:
        """The completion is made ready in the background, so the key is struck until it is."""
        terminal.type("Tab")
        time.sleep(1.0)
        return "> gauge read" in terminal.screen()

    within(60, completed, "the completed word", terminal.screen)
    terminal.type("Escape", "C-u")
    terminal.type("sats 91", "Enter")
    terminal.shows("Saturation nine one percent")
    terminal.type("Up")
    within(10, lambda: terminal.screen().count("> sats 91") == 2, "the last line at the prompt again", terminal.screen)


def test_an_alert_interrupts_and_leaves_what_is_being_typed(terminal: Terminal) -> None:
    terminal.run("--new")
    terminal.shows("minutes not known")  # the line below the prompt: it takes keys now
    terminal.type("bottle reads 300, small cylinder, 15 litres", "Enter")
    terminal.type("how long have")
    terminal.shows("ALERT")
    terminal.shows("> how long have")  # drawn anew below the alert
    terminal.type(" we got", "Enter")
    terminal.shows("> how long have we got")


def test_a_killed_conversation_goes_on_where_it_was(terminal: Terminal, tmp_path: Path) -> None:
    terminal.run("--new")
    terminal.shows("minutes not known")  # the line below the prompt: it takes keys now
    terminal.type("bottle reads 1500, small cylinder, 15 litres", "Enter")
    terminal.shows("About thirteen minutes")
    terminal.call("kill-server")
    terminal.started = False
    time.sleep(1.0)
    terminal.run()
    terminal.shows("Going on with the incident")
    terminal.shows("min to reserve |")
    terminal.type("/end", "Enter")
    terminal.shows("The incident is ended.")
