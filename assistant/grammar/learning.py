"""Learns how often each branch of the rules is said, from sentences that were matched.

Takes expansions and derivations; gives the expansions with other weights. A branch that no sentence took keeps a share
of what the grammar's author gave it, so that nothing becomes impossible.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from assistant.grammar.derivation import Node, Tag, Word
from assistant.grammar.filling import ANYTHING, grown, live_rules, live_words
from assistant.grammar.linking import references
from assistant.grammar.tree import Expansion, InOrder, Literal, OneOf, Reference, Repeated, TagText

Place = tuple[str, tuple[int, ...]]
"""A rule, and the way through its expansion to the branch or loop."""

_Parts = Sequence[Node | Word | Tag]
_Taken = tuple[tuple[Place, int], ...]
"""Branches taken, by number; of a loop, 1 for once more and 0 for out."""

AS_WRITTEN = 6.0
"""So many sentences the weights that are written in the grammar are worth, at each branch."""


def learned(
    rules: Mapping[str, Expansion], said: Iterable[Node], *, but: Container[str] = (), as_written: float = AS_WRITTEN
) -> dict[str, Expansion]:
    """The rules with the weights of their branches and loops moved towards how often `said` took them.

    `but`: rules that keep their weights.
    """
    counts: Counter[tuple[Place, int]] = Counter()
    for node in said:
        counts.update(_all_taken(node, rules))
    return {
        name: one if name in but else _reweighed(one, (name, ()), counts, as_written) for name, one in rules.items()
    }


def made_of(rules: Mapping[str, Expansion], some: Container[str]) -> frozenset[str]:
    """The rules that hold no other words than those of `some`, themselves among them."""
    live = live_rules(rules)
    words = {name: {literal.word for literal in live_words(one, live)} for name, one in rules.items()}
    known = {word for name in rules if name in some for word in words[name]}
    return grown(rules, lambda one, found: {w.word for w in live_words(one, live)} <= known and _calls(one) <= found)


def _calls(expansion: Expansion) -> set[str]:
    return {reference.name for reference in references(expansion)}


def _all_taken(node: Node, rules: Mapping[str, Expansion]) -> Iterator[tuple[Place, int]]:
    ways = _ways(rules[node.rule], (node.rule, ()), node.parts, 0)
    for end, taken in ways:
        if end == len(node.parts):
            yield from taken
            break
    for inner in node.nodes():
        yield from _all_taken(inner, rules)


def _ways(expansion: Expansion, place: Place, parts: _Parts, at: int) -> Iterator[tuple[int, _Taken]]:
    """Each way that the expansion matches parts from `at`: where it ends, and the branches taken."""
    part = parts[at] if at < len(parts) else None
    match expansion:
        case Literal(word):
            if isinstance(part, Word) and word in (part.text, ANYTHING):
                yield at + 1, ()
        case Reference(name):
            if isinstance(part, Node) and part.rule == name:
                yield at + 1, ()
        case TagText(text):
            if part == Tag(text):
                yield at + 1, ()
        case InOrder(items):
            yield from _in_order(items, place, parts, at, 0)
        case OneOf(items):
            for number, item in enumerate(items):
                for end, taken in _ways(item, _within(place, number), parts, at):
                    yield end, ((place, number), *taken)
        case Repeated(item, at_least):
            yield from _repeated(item, at_least, place, parts, at)


def _in_order(
    items: Sequence[Expansion], place: Place, parts: _Parts, at: int, number: int
) -> Iterator[tuple[int, _Taken]]:
    if number == len(items):
        yield at, ()
        return
    for middle, taken in _ways(items[number], _within(place, number), parts, at):
        for end, more in _in_order(items, place, parts, middle, number + 1):
            yield end, (*taken, *more)


def _repeated(item: Expansion, at_least: int, place: Place, parts: _Parts, at: int) -> Iterator[tuple[int, _Taken]]:
    for middle, taken in _ways(item, _within(place, 0), parts, at):
        if middle > at:
            for end, more in _repeated(item, 0, place, parts, middle):
                again = () if at_least else ((place, 1),)
                yield end, (*again, *taken, *more)
    if not at_least:
        yield at, ((place, 0),)


def _within(place: Place, number: int) -> Place:
    return place[0], (*place[1], number)


def _reweighed(expansion: Expansion, place: Place, counts: Counter[tuple[Place, int]], as_written: float) -> Expansion:
    match expansion:
        case InOrder(items):
            return InOrder(tuple(_reweighed(one, _within(place, n), counts, as_written) for n, one in enumerate(items)))
        case OneOf(items, weights):
            inner = tuple(_reweighed(one, _within(place, n), counts, as_written) for n, one in enumerate(items))
            total = sum(weights) or 1.0
            moved = tuple(as_written * w / total + counts[place, n] for n, w in enumerate(weights))
            return OneOf(inner, moved)
        case Repeated(item):
            again, out = counts[place, 1], counts[place, 0]
            go_on = (as_written * expansion.go_on + again) / (as_written + again + out)
            return replace(expansion, item=_reweighed(item, _within(place, 0), counts, as_written), go_on=go_on)
    return expansion
