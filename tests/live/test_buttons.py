"""A button that tells of its press and its release: a fake device, whose events are written into a pipe."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from assistant.live.buttons import EVENT, Button, ButtonError, buttons
from tests.live.conftest import within

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="input devices are files on Linux alone")
KEY, SYNC = 1, 0
PLAY = 164  # KEY_PLAYPAUSE of the kernel's input-event-codes.h: a headset's button


class Fake:
    """A device folder and a name folder with one pipe as a device in them."""

    def __init__(self, folder: Path) -> None:
        self.devices, self.names = folder / "input", folder / "class"
        self.devices.mkdir()
        name = self.names / "event3" / "device" / "name"
        name.parent.mkdir(parents=True)
        name.write_text("Field Headset\n", encoding="utf-8")
        os.mkfifo(self.devices / "event3")
        self.told: list[str] = []
        self.changed = threading.Event()
        self.writing = os.open(self.devices / "event3", os.O_RDWR)

    def button(self, wanted: str) -> Button:
        tell = self.told.append
        return Button(
            wanted,
            pressed=lambda: tell("pressed"), let_go=lambda: tell("let go"), notice=tell,
            devices=self.devices, names=self.names,
        )  # fmt: skip

    def event(self, kind: int, code: int, value: int) -> None:
        os.write(self.writing, EVENT.pack(0, 0, kind, code, value))


@pytest.fixture
def fake(tmp_path: Path) -> Iterator[Fake]:
    made = Fake(tmp_path)
    yield made
    os.close(made.writing)


@pytest.fixture
def watched(fake: Fake) -> Iterator[Callable[[str], Button]]:
    begun: list[Button] = []

    def watch(wanted: str) -> Button:
        begun.append(fake.button(wanted))
        begun[-1].start()
        return begun[-1]

    yield watch
    for each in begun:
        each.stop()


def test_a_press_and_a_release_are_told_and_repeats_are_not(fake: Fake, watched: Callable[[str], Button]) -> None:
    watched("headset")
    for kind, code, value in ((KEY, PLAY, 1), (SYNC, 0, 0), (KEY, PLAY, 2), (KEY, PLAY, 2), (KEY, PLAY, 0)):
        fake.event(kind, code, value)
    within(5, lambda: len(fake.told) >= 2, "a press and a release", lambda: str(fake.told))
    assert fake.told == ["pressed", "let go"]


def test_with_two_keys_down_it_is_held_until_the_last_is_let_go(fake: Fake, watched: Callable[[str], Button]) -> None:
    watched("headset")
    for code, value in ((PLAY, 1), (30, 1), (PLAY, 0)):
        fake.event(KEY, code, value)
    within(5, lambda: fake.told == ["pressed"], "one press")
    fake.event(KEY, 30, 0)
    within(5, lambda: fake.told == ["pressed", "let go"], "one release", lambda: str(fake.told))


def test_a_button_unplugged_while_held_is_let_go_of_and_comes_back(tmp_path: Path) -> None:
    fake = Fake(tmp_path)
    button = fake.button("headset")
    button.start()
    fake.event(KEY, PLAY, 1)
    within(5, lambda: fake.told == ["pressed"], "a press")
    os.close(fake.writing)  # the pipe's only writer: its reader meets the end
    within(5, lambda: "let go" in fake.told, "a release", lambda: str(fake.told))
    fake.writing = os.open(fake.devices / "event3", os.O_RDWR)
    within(5, lambda: fake.told[-1] == "The button is back.", "a word of its return", lambda: str(fake.told))
    fake.event(KEY, PLAY, 1)
    within(5, lambda: fake.told[-1] == "pressed", "a press again")
    button.stop()
    os.close(fake.writing)


def test_an_unknown_button_is_refused_with_the_names_there_are(fake: Fake) -> None:
    with pytest.raises(ButtonError, match="no button device called 'pedal'; there are: Field Headset"):
        fake.button("pedal").start()
    assert buttons(fake.names) == {"event3": "Field Headset"}


def test_a_device_that_cannot_be_read_is_refused_with_the_cure(fake: Fake) -> None:
    (fake.devices / "event3").unlink()
    with pytest.raises(ButtonError, match="group input"):
        fake.button("headset").start()
