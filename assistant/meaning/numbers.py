"""The value of a spoken or typed number, composed from the tags of its derivation tree.

What a word is worth stands in the grammar alone; here is only how parts make one value, by the name of their rule.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from assistant.grammar import Node, Tag

HUNDRED, THOUSAND, POINT, MINUS = "*100", "*1000", ".", "-"
_SIGNS = (HUNDRED, THOUSAND, POINT, MINUS)
_NUMBER = re.compile(r"\d+(\.\d+)?")

Term = float | str
"""A value, or one of the signs."""


def value(node: Node) -> float | None:
    """The number that the node holds; None where it holds none.

    Rules named *_digits are written one after the other ("one five zero zero"), *_pair is hundreds and the rest
    ("eighteen fifty"), *_decimal has digits after the point; all others add up ("fifteen hundred and fifty").
    """
    if node.rule == "numeral":
        return float(node.words()[0])
    if node.rule.endswith("_decimal"):
        return _decimal(node)
    return _composed(node.rule, _terms(node.parts))


def _terms(parts: Sequence[object]) -> list[Term]:
    """The values and signs of the parts, those of a rule within taken together."""
    terms: list[Term] = []
    for part in parts:
        if isinstance(part, Tag):
            if part.text in _SIGNS:
                terms.append(part.text)
            elif _NUMBER.fullmatch(part.text):
                terms.append(float(part.text))
        elif isinstance(part, Node):
            terms += _terms_within(part)
    return terms


def _terms_within(node: Node) -> list[Term]:
    """The one value of the node, or the signs that it has alone."""
    if node.rule == "numeral" or node.rule.endswith("_decimal"):
        within = value(node)
        return [] if within is None else [within]
    terms = _terms(node.parts)
    composed = _composed(node.rule, terms)
    return terms if composed is None else [composed]


def _composed(rule: str, terms: Sequence[Term]) -> float | None:
    """The one value that the terms make by the name of their rule; None of signs alone."""
    values = [term for term in terms if isinstance(term, float)]
    if not values:
        return None
    if rule.endswith("_digits"):
        return float("".join(f"{digit:.0f}" for digit in values))
    if rule.endswith("_pair"):
        hundreds, rest = values
        return 100 * hundreds + rest
    return _sum(terms)


def _decimal(node: Node) -> float:
    """The rules and tags before the point add up; every tag after it is a digit."""
    at = next(i for i, part in enumerate(node.parts) if isinstance(part, Node) and part.rule == "point")
    digits = "".join(tag for part in node.parts[at + 1 :] for tag in tags(part) if tag.isdigit())
    return float(f"{_sum(tuple(_terms(node.parts[:at]))):.0f}.{digits}")


def _sum(terms: Sequence[Term]) -> float:
    total = current = 0.0
    sign = 1
    for term in terms:
        if isinstance(term, float):
            current += term
        elif term == HUNDRED:
            current *= 100
        elif term == THOUSAND:
            total, current = total + 1000 * current, 0.0
        elif term == MINUS:
            sign = -1
    return sign * (total + current)


def tags(part: object) -> Iterator[str]:
    """The texts of all tags under the part, in order."""
    if isinstance(part, Tag):
        yield part.text
    elif isinstance(part, Node):
        for inner in part.parts:
            yield from tags(inner)
