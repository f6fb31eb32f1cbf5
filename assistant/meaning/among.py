"""What is stated among other words: the parts of a line that the grammar has, where it has not the whole of it.

"Right, I've turned her up to four litres because she looks a bit blue." What the other words do to it nobody knows, so
that a value found so is asked for, never taken. Nothing is found where they hold a number, or a word that makes
something else of it: denied, supposed, past.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assistant.grammar import Grammar, Node
from assistant.meaning.typed import may_be_a_number

STATED, ANSWER = "statement", "bare_answer"
TURNS_ABOUT, TURNS_ALL = "turns_about", "turns_all"
BEGINS_ANEW = "begins_anew"
NAMES_IT = "names_it"
MARK = "and"  # one of those that begin anew
# Beyond that it is a story, and which of its numbers counts is anybody's guess. Our choice.
MOST_WORDS = 30

Parts = tuple[tuple[Node, ...], ...]


@dataclass(frozen=True, slots=True)
class Stated:
    """The parts of a line that are statements, the derivations of each, cheapest first; and the words beside them.

    `beside` has a mark that begins a clause in the place of each part. `counts_more`: a number stands in it.
    """

    parts: Parts
    beside: tuple[str, ...]
    counts_more: bool


NOTHING = Stated(parts=(), beside=(), counts_more=False)


def stated_among(tokens: Sequence[str], grammar: Grammar, rule: str = STATED) -> Stated:
    """Each part that is a statement (or `rule`) by itself; none where the rest forbids it.

    Each part is the longest that begins where it does, the first of them first. What denies or tells of the past does
    so in its own clause, as does a number; what supposes, everywhere. An ANSWER is one, and ends the line: a number
    with something after it counts that.
    """
    if len(tokens) > MOST_WORDS:
        return NOTHING
    parts: list[tuple[Node, ...]] = []
    spans: list[tuple[int, int]] = []
    at = count = 0
    while at < len(tokens):
        count = grammar.leading(tokens[at:], rule=rule)
        if count:
            parts.append(grammar.parse(tokens[at : at + count], rule=rule))
            spans.append((at, at + count))
        at += count or 1
    if rule == ANSWER and (not count or len(parts) > 1):
        return NOTHING
    within = {place for first, last in spans for place in range(first, last)}
    rest = [place for place in range(len(tokens)) if place not in within]
    anew = {place for place in rest if rule != ANSWER and grammar.matches((tokens[place],), rule=BEGINS_ANEW)}
    otherwise = [place for place in rest if _tells_otherwise(tokens[place], grammar)]
    everywhere = any(grammar.matches((tokens[place],), rule=TURNS_ALL) for place in otherwise)
    if everywhere or any(_reaches(place, spans, anew) for place in otherwise):
        return NOTHING
    beside = [MARK if place in within else tokens[place] for place in range(len(tokens))]
    return Stated(
        parts=tuple(parts),
        beside=tuple(beside),
        counts_more=any(may_be_a_number(tokens[place], grammar) for place in rest),
    )


def _reaches(place: int, spans: Sequence[tuple[int, int]], anew: set[int]) -> bool:
    """Whether the word at `place` stands in one clause with a part: no word between them begins another."""
    between = (range(place + 1, first) if place < first else range(last, place) for first, last in spans)
    return any(anew.isdisjoint(words) for words in between)


def names_it(part: Node, grammar: Grammar) -> bool:
    """Whether a part has a word that says what it is about, beside number and verb."""
    return any(grammar.matches((word.partition("'")[0],), rule=NAMES_IT) for word in part.words())


def counts(part: Node, grammar: Grammar) -> bool:
    """Whether a part has a number or a unit."""
    return any(may_be_a_number(word, grammar) for word in part.words())


def _tells_otherwise(word: str, grammar: Grammar) -> bool:
    return may_be_a_number(word, grammar) or grammar.matches((word,), rule=TURNS_ABOUT)
