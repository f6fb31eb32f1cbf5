"""Looking into a derivation tree: the rules, tags and numbers under a node."""

from __future__ import annotations

from collections.abc import Collection

from assistant.grammar import Node
from assistant.meaning.numbers import tags, value


def under(node: Node, *rules: str) -> list[Node]:
    """The nodes of these rules under the node, in order, the outermost of each branch."""
    found: list[Node] = []
    waiting = [*reversed(node.nodes())]
    while waiting:
        inner = waiting.pop()
        if inner.rule in rules:
            found.append(inner)
        else:
            waiting += reversed(inner.nodes())
    return found


def first(node: Node, *rules: str) -> Node | None:
    """The first node of these rules, or None."""
    return next(iter(under(node, *rules)), None)


def last(node: Node, *rules: str) -> Node:
    """The last node of these rules: what was said after every restart. There must be one."""
    return under(node, *rules)[-1]


def tag(node: Node, among: Collection[str]) -> str | None:
    """The first tag under the node that is one of these, or None."""
    return next((text for text in tags(node) if text in among), None)


def number(node: Node, *rules: str) -> float:
    """The value of the last node of these rules. There must be one."""
    found = value(last(node, *rules))
    assert found is not None, f"<{rules[0]}> has no number"
    return found


def ordinal(node: Node, *rules: str) -> str | None:
    """The number by which a cylinder or a patient is called ("2"), or None where none is named."""
    found = first(node, *rules)
    return None if found is None else _called(found)


def ordinals(node: Node, *rules: str) -> list[str]:
    """Every such number under the node, each once, in order."""
    return list(dict.fromkeys(called for found in under(node, *rules) if (called := _called(found)) is not None))


def _called(node: Node) -> str | None:
    called = value(node)
    return None if called is None else f"{called:.15g}"
