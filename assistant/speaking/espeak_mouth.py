"""The voice: espeak-ng out of the espeakng-loader wheel, driven through pyttsx3's own ctypes layer.

Takes text, gives samples, a WAV file or sound. Not through pyttsx3's engine: its espeak driver plays by the program
aplay (not there without a system package), prints to standard output when it saves, and hides both failures.
"""

from __future__ import annotations

import ctypes
import os
import sys
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any, Protocol

from assistant.speaking.mouth import SpeakingError, VoiceSettings

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

CHUNK_MS = 200


class Sounding(Protocol):
    """Where the samples go."""

    def play(self, samples: NDArray[np.int16], rate_hz: int) -> None: ...
    def stop(self) -> None: ...


class EspeakMouth:
    """Speaks with espeak-ng; one voice a process, because the library keeps one state."""

    def __init__(self, settings: VoiceSettings, loudspeaker: Sounding) -> None:
        self._settings = settings
        self._loudspeaker = loudspeaker

    def speak(self, text: str) -> None:
        samples, rate_hz = self.samples(text)
        self._loudspeaker.play(samples, rate_hz)

    def save(self, text: str, path: Path) -> None:
        import soundfile

        samples, rate_hz = self.samples(text)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            with path.open("wb") as file:
                soundfile.write(file, samples, rate_hz, format="WAV", subtype="PCM_16")
        except (OSError, soundfile.LibsndfileError) as error:
            raise SpeakingError(f"{path}: the speech cannot be written ({error})") from None

    def hush(self) -> None:
        self._loudspeaker.stop()

    def samples(self, text: str) -> tuple[NDArray[np.int16], int]:
        """The speech as 16-bit mono samples, and their rate in Hz."""
        return _library().spoken(text, self._settings)


class _Library:
    """The one espeak-ng of this process."""

    def __init__(self, espeak: Any, rate_hz: int) -> None:
        self._espeak = espeak
        self._rate_hz = rate_hz
        self._lock = Lock()

    def spoken(self, text: str, settings: VoiceSettings) -> tuple[NDArray[np.int16], int]:
        import numpy as np

        parts: list[bytes] = []

        def take(wav: Any, count: int, events: Any) -> int:
            if count > 0:
                parts.append(ctypes.string_at(wav, count * ctypes.sizeof(ctypes.c_short)))
            return 0

        with self._lock:
            self._set(settings)
            self._espeak.SetSynthCallback(take)
            self._espeak.Synth(text.encode("utf-8"), flags=self._espeak.CHARS_UTF8 | self._espeak.ENDPAUSE)
            self._espeak.Synchronize()
        return np.frombuffer(b"".join(parts), dtype=np.int16), self._rate_hz

    def _set(self, settings: VoiceSettings) -> None:
        if self._espeak.SetVoiceByName(settings.voice.encode("utf-8")) != self._espeak.EE_OK:
            raise SpeakingError(f"espeak-ng has no voice called {settings.voice!r}")
        self._espeak.SetParameter(self._espeak.RATE, settings.rate_words_per_min, 0)
        self._espeak.SetParameter(self._espeak.VOLUME, round(settings.volume * 100), 0)


_opened: list[_Library] = []
_opening = Lock()


def _library() -> _Library:
    with _opening:
        if not _opened:
            _opened.append(_started())
        return _opened[0]


def _started() -> _Library:
    """espeakng-loader's library must be loaded, and its voices be named, before pyttsx3's layer looks for a library."""
    try:
        import espeakng_loader

        os.environ["ESPEAK_DATA_PATH"] = espeakng_loader.get_data_path()
        espeak = _layer_over(espeakng_loader.get_library_path())
    except (ImportError, OSError, RuntimeError) as error:
        raise SpeakingError(f"there is no voice: espeak-ng cannot be loaded ({error})") from None
    rate_hz = espeak.Initialize(espeak.AUDIO_OUTPUT_RETRIEVAL, CHUNK_MS)
    if rate_hz <= 0:
        raise SpeakingError("there is no voice: espeak-ng cannot be started")
    return _Library(espeak, rate_hz)


def _layer_over(library: str) -> Any:
    """pyttsx3's layer bound to this very library: it loads by fixed names, so its loader is answered with ours."""
    if "pyttsx3.drivers._espeak" in sys.modules:
        return sys.modules["pyttsx3.drivers._espeak"]
    ours = ctypes.CDLL(library, mode=ctypes.RTLD_GLOBAL)
    usual = ctypes.cdll.LoadLibrary
    ctypes.cdll.LoadLibrary = lambda name: ours  # type: ignore[method-assign]
    try:
        from pyttsx3.drivers import _espeak
    finally:
        ctypes.cdll.LoadLibrary = usual  # type: ignore[method-assign]
    return _espeak
