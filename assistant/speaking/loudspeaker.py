"""The loudspeaker: takes 16-bit mono samples, plays them by miniaudio (its wheel needs no system package).

Where there is no device it says so once and plays nothing; the conversation goes on.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from threading import Event
from typing import TYPE_CHECKING, Any

from assistant.alsa import quieten_alsa

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

BUFFER_MS = 100
LONGER_THAN_THE_SOUND_S = 2.0


class Loudspeaker:
    """The default playback device, opened for each reply, so that one plugged in later is found."""

    def __init__(self, notice: Callable[[str], None] = lambda line: None) -> None:
        self._notice = notice
        self._said_so = False
        self._ended = Event()

    def play(self, samples: NDArray[np.int16], rate_hz: int) -> None:
        """Plays and waits for the end, or for `stop`."""
        if not len(samples):
            return
        try:
            device = _opened(rate_hz)
        except Exception as error:  # miniaudio's own error, or the wheel is not there
            self._say_once(type(error).__name__ if not error.args else str(error.args[0]))
            return
        self._ended.clear()
        source = _pieces(samples.tobytes(), self._ended)
        next(source)
        with device:
            device.start(source)
            self._ended.wait(len(samples) / rate_hz + LONGER_THAN_THE_SOUND_S)

    def stop(self) -> None:
        self._ended.set()

    def _say_once(self, why: str) -> None:
        if not self._said_so:
            self._said_so = True
            self._notice(f"There is no loudspeaker ({why}): replies are written, not spoken.")


def _opened(rate_hz: int) -> Any:
    import miniaudio

    quieten_alsa()
    return miniaudio.PlaybackDevice(
        output_format=miniaudio.SampleFormat.SIGNED16,
        nchannels=1,
        sample_rate=rate_hz,
        buffersize_msec=BUFFER_MS,
        app_name="oxygen-assistant",
    )


def _pieces(sound: bytes, ended: Event) -> Generator[bytes, int, None]:
    """What the device's own thread asks for, a number of frames at a time; silence after the end lets it drain."""
    frames = yield b""
    at = 0
    while at < len(sound) and not ended.is_set():
        piece = sound[at : at + frames * 2]
        at += len(piece)
        frames = yield piece.ljust(frames * 2, b"\0")
    frames = yield bytes(frames * 2)
    ended.set()
    while True:
        frames = yield bytes(frames * 2)
