"""How an utterance was matched: a tree of rules, words and tags, built from the marks passed on the way."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Word:
    """A word as it was heard or typed."""

    text: str


@dataclass(frozen=True, slots=True)
class Tag:
    """A tag of the grammar, in its place after what it follows."""

    text: str


@dataclass(frozen=True, slots=True)
class Node:
    """A rule with what it matched, in order.

    `cost` is the negative natural logarithm of the whole match's probability, on the outermost node; within, it is 0.
    """

    rule: str
    parts: tuple[Node | Word | Tag, ...]
    cost: float = 0.0

    def words(self) -> tuple[str, ...]:
        """The words matched, in order."""
        return tuple(word for part in self.parts for word in _words(part))

    def tags(self) -> tuple[str, ...]:
        """The texts of the tags right under this node."""
        return tuple(part.text for part in self.parts if isinstance(part, Tag))

    def nodes(self) -> tuple[Node, ...]:
        """The rules right under this node."""
        return tuple([part for part in self.parts if type(part) is Node])


def _words(part: Node | Word | Tag) -> tuple[str, ...]:
    if isinstance(part, Node):
        return part.words()
    return (part.text,) if isinstance(part, Word) else ()


Mark = Tag | str | None
"""Passed between words: a tag, the name of a rule that opens, or None where the innermost rule closes."""

Symbol = Mark | Word | Node
"""What is passed within a rule: marks, words, and rules already matched."""


def built(rule: str, symbols: Iterable[Symbol]) -> Node:
    """The tree of the rule from what was passed within it."""
    names = [rule]
    open_parts: list[list[Node | Word | Tag]] = [[]]
    for symbol in symbols:
        if symbol is None:
            closed = Node(names.pop(), tuple(open_parts.pop()))
            open_parts[-1].append(closed)
        elif isinstance(symbol, str):
            names.append(symbol)
            open_parts.append([])
        else:
            open_parts[-1].append(symbol)
    return Node(rule, tuple(open_parts[0]))
