"""The grammar for pocketsphinx: as one JSGF text, which reads neither imports nor <VOID>, and as transitions.

Takes the filled rules without what can only be typed. In the text "anything" becomes any words of the grammar itself,
because pocketsphinx has no word for the unknown: a note is heard as a note, its words are not to be relied on.
Of a large grammar pocketsphinx copies every call and then closes over all silent steps, which takes minutes and
gigabytes; the transitions of the acceptor, which is small already, take a second.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from math import exp
from typing import NamedTuple

from assistant.grammar.acceptor import Acceptor
from assistant.grammar.filling import ANYTHING, live_rules, live_words
from assistant.grammar.linking import matchable, references
from assistant.grammar.tree import Expansion, InOrder, Literal, OneOf, Reference, Repeated, TagText

Transition = tuple[int, int, float, str] | tuple[int, int, float]


class Transitions(NamedTuple):
    """What `Decoder.create_fsg` takes: (from, to, probability[, word]), one first and one last state."""

    start: int
    end: int
    arcs: list[Transition]


def transitions(acceptor: Acceptor) -> Transitions:
    """The acceptor with a single last state, costs as probabilities.

    "[unk]" stays a word: with every single phone as its pronunciations it is a loop over all sounds.
    """
    end = acceptor.state_count
    arcs: list[Transition] = []
    for source, word, cost, target in acceptor.arcs:
        arcs.append((source, target, exp(-cost), word) if word else (source, target, exp(-cost)))
    arcs += [(state, end, exp(-cost)) for state, cost in acceptor.finals.items()]
    return Transitions(acceptor.start, end, arcs)


_ANY_WORD = "any_word_of_the_grammar"


def pocketsphinx_text(spoken: Mapping[str, Expansion], root: str, *, name: str = "assistant") -> str:
    """A self-contained JSGF text whose one public rule is `root`, with the rules that it needs."""
    live = live_rules(spoken)
    needed = _needed(spoken, root)
    lines = ["#JSGF V1.0;", f"grammar {name};"]
    words: set[str] = set()
    for rule in needed:
        if rule in live:
            lines.append(f"{'public ' if rule == root else ''}<{rule}> = {_written(spoken[rule], live)};")
            words |= {literal.word for literal in live_words(spoken[rule], live)}
    if ANYTHING in words:
        lines.append(f"<{_ANY_WORD}> = {' | '.join(sorted(words - {ANYTHING}))};")
    return "\n".join(lines) + "\n"


def _needed(spoken: Mapping[str, Expansion], root: str) -> list[str]:
    found = [root]
    for rule in found:
        found += dict.fromkeys(one.name for one in references(spoken[rule]) if one.name not in (*found, "VOID"))
    return found


def _written(expansion: Expansion, live: Collection[str]) -> str:
    match expansion:
        case Literal(word):
            return f"<{_ANY_WORD}>" if word == ANYTHING else word
        case Reference(name):
            return f"<{name}>"
        case Repeated(item, at_least):
            alive = matchable(item, live.__contains__)
            return f"({_written(item, live)}){'+' if at_least else '*'}" if alive else "<NULL>"
        case OneOf(items, weights):
            return _one_of(items, weights, live)
        case InOrder(items):
            return " ".join(_written(item, live) for item in items if not isinstance(item, TagText)) or "<NULL>"
        case TagText():
            return "<NULL>"


def _one_of(items: tuple[Expansion, ...], weights: tuple[float, ...], live: Collection[str]) -> str:
    alive = [(item, weight) for item, weight in zip(items, weights, strict=True) if matchable(item, live.__contains__)]
    total = sum(weight for _, weight in alive)
    return "(" + " | ".join(f"/{weight / total:.6f}/ {_written(item, live)}" for item, weight in alive) + ")"
