"""Which builder makes a meaning of which grammar rule. A new command is a rule in the grammar and a builder here."""

from __future__ import annotations

from collections.abc import Callable

from assistant.grammar import Node
from assistant.meaning.kinds import Meaning
from assistant.oxygen.kit import Kit

Builder = Callable[[Node, Kit], tuple[Meaning, ...]]

Known = dict[int, tuple[Node, tuple[Meaning, ...]]]
"""Nodes by their identity, which lasts as long as the node is kept here, with their meanings."""


class TwoOwnersError(ValueError):
    """The words give one value to two things: nothing of what was said in that breath may be taken."""


_BUILDERS: dict[str, Builder] = {}


def builds(*rules: str) -> Callable[[Builder], Builder]:
    """Marks a function as the builder of these rules."""

    def register(builder: Builder) -> Builder:
        for rule in rules:
            assert rule not in _BUILDERS, f"<{rule}> has two builders"
            _BUILDERS[rule] = builder
        return builder

    return register


def built_rules() -> frozenset[str]:
    """The rules that have a builder."""
    return frozenset(_BUILDERS)


def meanings_of(node: Node, kit: Kit, known: Known | None = None) -> tuple[Meaning, ...]:
    """The meanings of a derivation tree, in the order in which they were said.

    `known` keeps those of every node, for other trees that share the very same node. Raises TwoOwnersError.
    """
    if known is not None and id(node) in known:
        return known[id(node)][1]
    builder = _BUILDERS.get(node.rule)
    if builder is not None:
        found = builder(node, kit)
    else:
        found = tuple(meaning for inner in node.nodes() for meaning in meanings_of(inner, kit, known))
    if known is not None:
        known[id(node)] = (node, found)
    return found
