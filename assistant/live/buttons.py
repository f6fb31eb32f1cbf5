"""A button of its own to talk with, held or struck: a headset's, a foot switch's, a USB keypad's; on Linux.

Takes a device's name, tells when it is pressed and let go. Reads that device alone, never the keyboard one types on
unasked. Refuses a device that is not there or may not be read; one that is unplugged is waited for.
"""

from __future__ import annotations

import os
import select
import struct
import threading
from collections.abc import Callable
from pathlib import Path

# struct input_event of the Linux kernel (include/uapi/linux/input.h): a time of two longs, type, code, value.
EVENT = struct.Struct("@llHHi")
KEY_EVENT = 0x01
LET_GO, PRESSED = 0, 1
DEVICES, NAMES = Path("/dev/input"), Path("/sys/class/input")
WAITED_S = 0.2
LOOKED_AGAIN_EVERY_S = 0.5


class ButtonError(Exception):
    """There is no such device, or it may not be read; one line with the cure."""


def buttons(names: Path = NAMES) -> dict[str, str]:
    """The input devices: "event3" → its name. None where the system has no such list."""
    found = sorted(names.glob("event*/device/name"))
    return {place.parts[-3]: place.read_text(encoding="utf-8", errors="replace").strip() for place in found}


class Button:
    """One device. Any of its keys is the button; with several down it is held until the last is let go."""

    def __init__(
        self,
        wanted: str,
        *,
        pressed: Callable[[], None],
        let_go: Callable[[], None],
        notice: Callable[[str], None],
        devices: Path = DEVICES,
        names: Path = NAMES,
    ) -> None:
        self._wanted = wanted
        self._pressed = pressed
        self._let_go = let_go
        self._notice = notice
        self._devices = devices
        self._names = names
        self._down: set[int] = set()
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._run, name="button", daemon=True)
        self._file = -1

    def start(self) -> None:
        """Opens the device and begins to watch it. Raises ButtonError."""
        self._file = self._opened()
        self._thread.start()

    def stop(self) -> None:
        """Lets go of the device."""
        self._ended.set()
        if self._thread.is_alive():
            self._thread.join(timeout=2.0)

    def _opened(self) -> int:
        found = buttons(self._names)
        place = next((event for event, name in found.items() if self._wanted.casefold() in name.casefold()), None)
        if place is None:
            there = "; there are: " + ", ".join(found.values()) if found else ""
            raise ButtonError(f"There is no button device called {self._wanted!r}{there}. Keys of the terminal do too.")
        try:
            return os.open(self._devices / place, os.O_RDONLY | os.O_NONBLOCK)
        except OSError as error:
            why = f"{found[place]} cannot be read ({error.strerror})"
            raise ButtonError(f"{why}: on most systems the group input may; keys of the terminal do too.") from None

    def _run(self) -> None:
        while not self._ended.is_set():
            try:
                gone = self._watched()
            except OSError:
                gone = True
            if gone:
                self._lost()
        if self._file >= 0:
            os.close(self._file)

    def _watched(self) -> bool:
        """Takes what the device tells; true where it is gone."""
        readable, _, _ = select.select([self._file], [], [], WAITED_S)
        if not readable:
            return False
        told = os.read(self._file, EVENT.size * 64)
        for _, _, kind, code, value in EVENT.iter_unpack(told[: len(told) // EVENT.size * EVENT.size]):
            if kind == KEY_EVENT:
                self._key(code, value)
        return not told

    def _key(self, code: int, value: int) -> None:
        if value == PRESSED:
            first = not self._down
            self._down.add(code)
            if first:
                self._pressed()
        elif value == LET_GO and code in self._down:
            self._down.discard(code)
            if not self._down:
                self._let_go()

    def _lost(self) -> None:
        """The device is gone: what was held is let go of, and the device is looked for until it is back."""
        os.close(self._file)
        self._file = -1
        if self._down:
            self._down.clear()
            self._let_go()
        self._notice("The button is gone. Plug it in again; keys of the terminal do too.")
        while not self._ended.wait(LOOKED_AGAIN_EVERY_S):
            try:
                self._file = self._opened()
            except ButtonError:
                continue
            self._notice("The button is back.")
            return
