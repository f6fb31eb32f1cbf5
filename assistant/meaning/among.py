"""What is stated among other words: the parts of a line that the grammar has, where it has not the whole of it.

"Right, I've turned her up to four litres because she looks a bit blue." What the other words do to it nobody knows, so
that a value found so is asked for, never taken. Nothing is found where they hold a number, or a word that makes
something else of it: denied, supposed, past.
"""

from __future__ import annotations

from collections.abc import Sequence

from assistant.grammar import Grammar, Node
from assistant.meaning.typed import may_be_a_number

STATED, ANSWER = "statement", "bare_answer"
TURNS_ABOUT = "turns_about"
NAMES_IT = "names_it"
# Beyond that it is a story, and which of its numbers counts is anybody's guess. Our choice.
MOST_WORDS = 30

Parts = tuple[tuple[Node, ...], ...]


def stated_among(tokens: Sequence[str], grammar: Grammar, rule: str = STATED) -> Parts:
    """For each part that is a statement (or `rule`) by itself, its derivations, cheapest first; none where the rest
    forbids it.

    Each part is the longest that begins where it does, the first of them first. An ANSWER is one, and ends the line: a
    number with something after it counts that.
    """
    if len(tokens) > MOST_WORDS:
        return ()
    parts: list[tuple[Node, ...]] = []
    rest: list[str] = []
    at = count = 0
    while at < len(tokens):
        count = grammar.leading(tokens[at:], rule=rule)
        if count:
            parts.append(grammar.parse(tokens[at : at + count], rule=rule))
        else:
            rest.append(tokens[at])
        at += count or 1
    if rule == ANSWER and (not count or len(parts) > 1):
        return ()
    return () if any(_tells_otherwise(word, grammar) for word in rest) else tuple(parts)


def names_it(part: Node, grammar: Grammar) -> bool:
    """Whether a part has a word that says what it is about, beside number and verb."""
    return any(grammar.matches((word,), rule=NAMES_IT) for word in part.words())


def _tells_otherwise(word: str, grammar: Grammar) -> bool:
    return may_be_a_number(word, grammar) or grammar.matches((word,), rule=TURNS_ABOUT)
