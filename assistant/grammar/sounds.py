"""Reads which other words sound like a word of the grammar: a recogniser's dictionary may say those better.

Takes the text of `sounds.toml`; refuses, with file and line, what is no such list.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from assistant.grammar.tree import GrammarError, grammar_error
from assistant.toml_text import TomlError, table_in

Sounds = Mapping[str, tuple[str, ...]]


def read_sounds(text: str, *, file: str) -> dict[str, tuple[str, ...]]:
    """Word → the words that sound the same. Raises GrammarError."""
    try:
        table = table_in(text)
    except TomlError as error:
        raise GrammarError(f"{file}:{error.line}: {error}") from error
    sounds: dict[str, tuple[str, ...]] = {}
    for word, others in table.items():
        if not isinstance(others, list) or not others or not all(isinstance(other, str) for other in others):
            raise grammar_error(
                file, _line(text, word), f"{word} = [...] takes the words that sound like it, in quotes"
            )
        sounds[word] = tuple(others)
    return sounds


def check_sounds(sounds: Sounds, words: Iterable[str]) -> None:
    """Raises GrammarError where a word that should only lend its sound is one of `words` or lends twice."""
    known, lent = set(words), set[str]()
    for word, others in sounds.items():
        for other in others:
            if other in known:
                raise GrammarError(f"sounds of {word!r}: {other!r} is a word of the grammar itself")
            if other in lent:
                raise GrammarError(f"sounds of {word!r}: {other!r} stands for another word already")
            lent.add(other)


def _line(text: str, word: str) -> int:
    lines = text.splitlines()
    return next((at for at, line in enumerate(lines, 1) if line.split("=")[0].strip().strip('"') == word), len(lines))
