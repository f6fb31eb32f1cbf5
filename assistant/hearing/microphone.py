"""The microphone: float32 mono samples at 16 kHz from a device chosen by name, opened again when it comes back.

By miniaudio, whose wheel needs no system package. Refuses nothing while it runs: a lost device is told and waited for.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Generator
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING, Any

from assistant.alsa import quieten_alsa
from assistant.hearing.errors import HearingError
from assistant.hearing.wav import SAMPLE_RATE_HZ

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

PERIOD_MS = 20
# A device that gives nothing for so long is gone: they give a piece every few hundredths of a second.
LOST_AFTER_S = 1.0
# A sound server takes a while before the first piece.
FIRST_WITHIN_S = 4.0
OPENED_AGAIN_EVERY_S = 0.5
APP_NAME = "oxygen-assistant"


class MicrophoneError(HearingError):
    """There is no such microphone, or it cannot be opened now."""


def microphones() -> list[str]:
    """The names of the capture devices, the usual one first; none where there is no sound system."""
    return [str(device["name"]) for device in _captures()]


def _captures() -> list[dict[str, Any]]:
    try:
        import miniaudio
    except (ImportError, OSError):
        return []
    quieten_alsa()
    try:
        devices = miniaudio.Devices()
        if devices.backend == "Null":
            return []
        return sorted(devices.get_captures(), key=lambda each: not each.get("isDefault", False))
    except miniaudio.MiniaudioError:
        return []


class Microphone:
    """One capture device. `read` gives what came since the last read; `lost` is true while the device is away."""

    def __init__(self, name: str | None = None, *, notice: Callable[[str], None] = lambda line: None) -> None:
        self._wanted = name
        self._notice = notice
        self._pieces: SimpleQueue[bytes] = SimpleQueue()
        self._device: Any = None
        self._heard_at_s = 0.0
        self._tried_at_s = 0.0
        self.name = ""
        self.lost = False

    def open(self) -> None:
        """Opens the device. Raises MicrophoneError: none of that name, busy, or not permitted."""
        import miniaudio

        found = self._chosen()
        try:
            device = miniaudio.CaptureDevice(
                input_format=miniaudio.SampleFormat.FLOAT32,
                nchannels=1,
                sample_rate=SAMPLE_RATE_HZ,
                buffersize_msec=PERIOD_MS,
                device_id=found["id"],
                app_name=APP_NAME,
            )
            taking = _taking(self._pieces)
            next(taking)
            device.start(taking)
        except miniaudio.MiniaudioError as error:
            why = f"{found['name']} cannot be opened ({error.args[0] if error.args else error})"
            raise MicrophoneError(f"{why}: another program may hold it, or you may lack the right to use it.") from None
        self._device, self.name, self.lost = device, str(found["name"]), False
        self._heard_at_s = time.monotonic() + FIRST_WITHIN_S - LOST_AFTER_S

    def close(self) -> None:
        """Lets go of the device."""
        device, self._device = self._device, None
        if device is not None:
            device.close()

    def read(self, timeout_s: float = 0.1) -> NDArray[np.float32] | None:
        """The samples that came; None where none did in time. A lost device is opened again as soon as it is there."""
        import numpy as np

        try:
            pieces = [self._pieces.get(timeout=timeout_s)]
        except Empty:
            self._mind()
            return None
        while not self._pieces.empty():
            pieces.append(self._pieces.get())
        self._heard_at_s = time.monotonic()
        return np.frombuffer(b"".join(pieces), dtype=np.float32)

    def _mind(self) -> None:
        """Notices the loss, and looks for the device from time to time."""
        now_s = time.monotonic()
        if not self.lost and now_s - self._heard_at_s > LOST_AFTER_S:
            self.lost = True
            self.close()
            self._notice(f"The microphone {self.name} is gone. Plug it in again; typing and alerts go on.")
        if self.lost and now_s - self._tried_at_s > OPENED_AGAIN_EVERY_S:
            self._tried_at_s = now_s
            try:
                self.open()
            except MicrophoneError:
                return
            self._notice(f"The microphone is back: {self.name}.")

    def _chosen(self) -> dict[str, Any]:
        found = _captures()
        if not found:
            raise MicrophoneError("There is no microphone: connect a headset; typing works without one (chat).")
        if self._wanted is None:
            return found[0]
        wanted = self._wanted.casefold()
        for device in found:
            if wanted in str(device["name"]).casefold():
                return device
        names = ", ".join(str(device["name"]) for device in found)
        raise MicrophoneError(f"There is no microphone called {self._wanted!r}; there are: {names}.")


def _taking(pieces: SimpleQueue[bytes]) -> Generator[None, bytes, None]:
    """Runs on the device's own thread: puts each piece where `read` finds it."""
    while True:
        piece = yield
        pieces.put(bytes(piece))
