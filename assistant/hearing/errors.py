"""What can go wrong with the ears, each said in one line that names the cure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping


class HearingError(Exception):
    """The ears cannot be opened or used; the message is one line for the user."""


class ModelMissingError(HearingError):
    """No vosk model is here and none could be fetched."""


class WavError(HearingError):
    """A file is no WAV that can be heard."""


class UnknownWordsError(HearingError):
    """Words of the grammar that the engine's dictionary lacks, each with the grammar file and line it stands in."""

    def __init__(self, engine: str, words: Iterable[str], places: Mapping[str, tuple[str, int]]) -> None:
        self.engine = engine
        self.words = tuple(sorted(words))
        named = "; ".join(_named(word, places) for word in self.words)
        super().__init__(f"{engine} does not know these words of the grammar: {named}")


def _named(word: str, places: Mapping[str, tuple[str, int]]) -> str:
    if word not in places:
        return f'"{word}"'
    file, line = places[word]
    return f'"{word}" ({file}:{line})'
