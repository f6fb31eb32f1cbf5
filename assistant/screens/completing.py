"""Completion of what is being typed, from the grammar: the words that may come next, likeliest first.

A typed numeral stands for a spoken number. Takes the grammar's continuations, gives prompt_toolkit completions.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from prompt_toolkit.completion import Completer, Completion

if TYPE_CHECKING:
    from prompt_toolkit.completion import CompleteEvent
    from prompt_toolkit.document import Document

    from assistant.grammar.continuation import Continuations

MOST_SHOWN = 12
# What a numeral is taken for while completing: a number that may stand almost anywhere a number may.
_AS_SPOKEN = (("fifteen",), ("fifteen", "hundred"), ("one", "twenty"), ("ninety",))
_SPLIT = re.compile(r"[\s,.;:!?]+")


def next_words(text: str, after: Callable[[Sequence[str]], Iterable[str]]) -> tuple[tuple[str, ...], str]:
    """The words that may stand where the text ends, and the beginning of a word that stands there already."""
    pieces = _SPLIT.split(text.lower())
    words, begun = [piece for piece in pieces[:-1] if piece], pieces[-1]
    found: dict[str, None] = {}
    for said in _readings(words):
        for word in after(said):
            if word.startswith(begun) and word != "[unk]":
                found.setdefault(word)
    return tuple(found)[:MOST_SHOWN], begun


def _readings(words: Sequence[str]) -> Iterator[tuple[str, ...]]:
    if not any(word[:1].isdigit() for word in words):
        yield tuple(words)
        return
    for spoken in _AS_SPOKEN:
        yield tuple(part for word in words for part in (spoken if word[:1].isdigit() else (word,)))


class GrammarCompleter(Completer):
    """Completes from the grammar; `continuations` is called for each completion and may be slow the first time."""

    def __init__(self, continuations: Callable[[], Continuations | None]) -> None:
        self._continuations = continuations

    def get_completions(self, document: Document, complete_event: CompleteEvent) -> Iterable[Completion]:
        known = self._continuations()
        if known is None:
            return

        def after(words: Sequence[str]) -> tuple[str, ...]:
            continuation = known.after(words)
            return () if continuation is None else tuple(word for word, _ in continuation.nexts)

        words, begun = next_words(document.text_before_cursor, after)
        for word in words:
            yield Completion(word, start_position=-len(begun))
