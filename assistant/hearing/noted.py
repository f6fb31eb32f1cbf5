"""The words of a spoken note: the grammar hears only that one is made, a free decoding of the same sound has its words.

Takes what the grammar's ears heard and a way to decode freely, which is used, and costs its memory, for notes alone.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from assistant.utterance import Hypothesis, Utterance

NOTE = "note"
# "okay make a note": the word that begins a note stands no further in.
BEGINS_WITHIN = 4


def is_note(words: tuple[str, ...]) -> bool:
    """Whether these words make a note of what follows them."""
    return NOTE in words[:BEGINS_WITHIN] and words[-1] != NOTE


def noted(utterance: Utterance, freely: Callable[[], Hypothesis | None]) -> Utterance:
    """The utterance with the free decoding's words in its note; as it was where it, or the decoding, has none."""
    best = utterance.best
    if not is_note(best.words):
        return utterance
    free = freely()
    if free is None or not is_note(free.words):
        return utterance
    head = best.words[: best.words.index(NOTE) + 1]
    tail = free.words[free.words.index(NOTE) + 1 :]
    first = replace(best, words=(*head, *tail))
    return replace(utterance, hypotheses=(first, *utterance.hypotheses[1:]))
