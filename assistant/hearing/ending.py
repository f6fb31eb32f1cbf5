"""When utterances end, for a grammar and an engine: brings together the words' continuations and the patience."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import TYPE_CHECKING

from assistant.hearing.going_on import continuations_of
from assistant.hearing.patience import Patience

if TYPE_CHECKING:
    from assistant.grammar import Grammar

# An engine that hears again slowly, or whose partial results mean little, is waited for.
UNHURRIED_S = 0.9


def ending_for(
    grammar: Grammar, engine: str, patience: Patience | None = None
) -> tuple[Callable[[tuple[str, ...]], float], float]:
    """The quiet needed after some words (s), and the least of it, as `Endpointer` takes them."""
    if engine != "vosk":
        return (lambda words: UNHURRIED_S), UNHURRIED_S
    chosen = patience or Patience()
    after = continuations_of(grammar)
    numbers = number_words(grammar)

    def needed_s(words: tuple[str, ...]) -> float:
        return chosen.needed_s(words, after, numbers, matches=bool(words) and grammar.matches(words))

    return needed_s, chosen.first_s


@cache
def number_words(grammar: Grammar) -> frozenset[str]:
    """The words that numbers are made of."""
    joining = ("and", "point", "over", "oh", "hundred", "thousand")
    every = grammar.words()
    return frozenset(word for word in every if word in joining or grammar.matches((word,), rule="number_word"))
