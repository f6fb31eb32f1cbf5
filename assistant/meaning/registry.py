"""Which builder makes a meaning of which grammar rule. A new command is a rule in the grammar and a builder here."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from assistant.grammar import Node
from assistant.meaning.kinds import Meaning
from assistant.oxygen.kit import Kit

Builder = Callable[[Node, Kit], tuple[Meaning, ...]]

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


def meanings_of(node: Node, kit: Kit) -> Iterator[Meaning]:
    """The meanings of a derivation tree, in the order in which they were said."""
    builder = _BUILDERS.get(node.rule)
    if builder is not None:
        yield from builder(node, kit)
        return
    for inner in node.nodes():
        yield from meanings_of(inner, kit)
