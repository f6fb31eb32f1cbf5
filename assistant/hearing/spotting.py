"""Listens for one phrase alone, while the assistant speaks and hears nothing else: "stop talking".

Takes samples bit by bit, tells whether the phrase was said. Other words stand beside it, so that talk is heard as talk.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, Protocol

from assistant.hearing.pcm import as_pcm
from assistant.hearing.wav import SAMPLE_RATE_HZ

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

STOP_TALKING = "stop talking"
# The phrase must stand in the partial result of this many pieces in a row: two of the recogniser's chunks.
STEADY_FOR = 10
# After so many pieces of silence what was said is over, and is forgotten: half a second of a microphone's pieces.
OVER_AFTER = 25


class Spotter(Protocol):
    """Tells whether a phrase was said."""

    def accept(self, samples: NDArray[np.float32]) -> bool: ...
    def restart(self) -> None: ...


class NoSpotter:
    """For engines that cannot: a key still interrupts."""

    def accept(self, samples: NDArray[np.float32]) -> bool:
        return False

    def restart(self) -> None:
        return


class VoskSpotter:
    """Spots the phrase with a vosk recogniser of its own over a model that is loaded already."""

    def __init__(self, model: Any, phrase: str, others: Iterable[str]) -> None:
        import vosk

        self._phrase = phrase
        said = [phrase, *(word for word in others if word not in phrase.split()), "[unk]"]
        self._ear = vosk.KaldiRecognizer(model, SAMPLE_RATE_HZ, json.dumps(said))
        self._steady = self._silent = 0

    def accept(self, samples: NDArray[np.float32]) -> bool:
        """Whether the phrase has just been said."""
        silent = self._ear.AcceptWaveform(as_pcm(samples))
        heard = json.loads(self._ear.PartialResult())["partial"]
        self._steady = self._steady + 1 if self._ends_so(heard) else 0
        self._silent = self._silent + 1 if silent else 0
        spotted = self._steady >= STEADY_FOR
        if self._silent >= OVER_AFTER:
            self.restart()
        return spotted

    def restart(self) -> None:
        """Forgets what was heard before."""
        self._ear.Reset()
        self._steady = self._silent = 0

    def _ends_so(self, heard: str) -> bool:
        return f" {heard}".endswith(f" {self._phrase}")


def spotter_for(ears: Any, words: Iterable[str]) -> Spotter:
    """The spotter of "stop talking" for these ears; `words` are what else may be heard."""
    model = getattr(ears, "model", None)
    return NoSpotter() if model is None else VoskSpotter(model, STOP_TALKING, words)
