"""What every mouth can do, the settings of the voice, and how a mouth is opened.

Takes text, gives sound. Refuses settings out of range and files that cannot be written, each in one line.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

# espeak-ng's own limits of the speaking rate.
SLOWEST_WORDS_PER_MIN, FASTEST_WORDS_PER_MIN = 80, 450


class SpeakingError(Exception):
    """The voice cannot be had or its sound not be written; the message is one line for the user."""


@dataclass(frozen=True, slots=True, kw_only=True)
class VoiceSettings:
    """How the voice sounds: `rate_words_per_min` 80 to 450, `volume` 0 to 1, `voice` an espeak-ng voice name.

    The default rate is slower than espeak-ng's 175: numbers must be caught at once (our choice, no source).
    """

    rate_words_per_min: int = 160
    volume: float = 1.0
    voice: str = "en-us"

    def __post_init__(self) -> None:
        if not SLOWEST_WORDS_PER_MIN <= self.rate_words_per_min <= FASTEST_WORDS_PER_MIN:
            limits = f"{SLOWEST_WORDS_PER_MIN} to {FASTEST_WORDS_PER_MIN}"
            raise SpeakingError(f"a speaking rate of {self.rate_words_per_min} words a minute is not within {limits}")
        if not 0.0 <= self.volume <= 1.0:
            raise SpeakingError(f"a volume of {self.volume} is not within 0 to 1")


class Mouth(Protocol):
    """Says text. `speak` returns when it is said, or at once where there is no speaker."""

    def speak(self, text: str) -> None: ...

    def save(self, text: str, path: Path) -> None:
        """Writes the speech as a 16-bit mono WAV file. Raises SpeakingError."""
        ...

    def hush(self) -> None:
        """Stops speaking at once; may be called from another thread."""
        ...


@dataclass(slots=True)
class SilentMouth:
    """Makes no sound and keeps what it was given, for tests and for `--mute`; `save` writes nothing."""

    said: list[str] = field(default_factory=list)
    saved: dict[Path, str] = field(default_factory=dict)

    def speak(self, text: str) -> None:
        self.said.append(text)

    def save(self, text: str, path: Path) -> None:
        self.saved[path] = text

    def hush(self) -> None:
        return


def open_mouth(settings: VoiceSettings | None = None, *, notice: Callable[[str], None] = lambda line: None) -> Mouth:
    """The voice of this machine; `notice` takes the one line said where there is no speaker. Raises SpeakingError."""
    from assistant.speaking.espeak_mouth import EspeakMouth
    from assistant.speaking.loudspeaker import Loudspeaker

    return EspeakMouth(settings or VoiceSettings(), Loudspeaker(notice))
