"""What each rule stands for: its expansion, the slot's phrases where it is declared <VOID>, or a special sense.

Takes linked rules and the slots' phrases. From these come the spoken rules, without what can only be typed.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import replace

from assistant.grammar.linking import matchable
from assistant.grammar.tree import Expansion, InOrder, Literal, OneOf, Repeated, Rule, TagText

NUMERAL = "<numeral>"
"""Stands for any typed numeral."""
ANYTHING = "<anything>"
"""Stands for any word at all, known or not."""
TYPED = "typed"
"""The tag of what can be typed but not said: the recognisers never hear of an alternative or sequence that holds it."""

_NEVER = OneOf((), ())
_SPECIAL: dict[str, Expansion] = {
    "numeral": Literal(NUMERAL, 0),
    "anything": Repeated(Literal(ANYTHING, 0), 1, 0),
}


def filled_in(rules: Mapping[str, Rule], slots: Mapping[str, Sequence[str]]) -> dict[str, Expansion]:
    """Each rule's expansion; a rule declared <VOID> takes the phrases of the slot of its name, or the special sense."""
    return {name: _filled(rule, slots) for name, rule in rules.items()}


def _filled(rule: Rule, slots: Mapping[str, Sequence[str]]) -> Expansion:
    if not rule.void:
        return rule.expansion
    if rule.name in _SPECIAL:
        return _SPECIAL[rule.name]
    phrases = [phrase.lower().split() for phrase in dict.fromkeys(slots.get(rule.name, ()))]
    said = tuple(InOrder(tuple(Literal(word, rule.line) for word in phrase)) for phrase in phrases if phrase)
    return OneOf(said, (1.0,) * len(said))


def spoken(filled: Mapping[str, Expansion]) -> dict[str, Expansion]:
    """The same rules without what can only be typed."""
    only_typed = {"numeral": _NEVER}
    return {name: only_typed.get(name) or _said(one) for name, one in filled.items()}


def _said(expansion: Expansion) -> Expansion:
    match expansion:
        case InOrder(items):
            if TagText(TYPED) in items:
                return _NEVER
            return InOrder(tuple(map(_said, items)))
        case OneOf(items, weights):
            return OneOf(tuple(map(_said, items)), weights)
        case Repeated(item):
            return replace(expansion, item=_said(item))
    return expansion


def grown(filled: Mapping[str, Expansion], holds: Callable[[Expansion, set[str]], bool]) -> frozenset[str]:
    """The least set of rules of which `holds` is true, given the set."""
    found: set[str] = set()
    while more := {name for name, one in filled.items() if name not in found and holds(one, found)}:
        found |= more
    return frozenset(found)


def live_rules(filled: Mapping[str, Expansion]) -> frozenset[str]:
    """The rules that anything matches at all."""
    return grown(filled, lambda one, found: matchable(one, found.__contains__))


def live_words(expansion: Expansion, live: Collection[str]) -> Iterator[Literal]:
    """Every word within that can be said, given the rules that anything matches."""
    match expansion:
        case Literal():
            yield expansion
        case Repeated(item):
            yield from live_words(item, live)
        case InOrder(items) | OneOf(items):
            for item in items:
                if matchable(item, live.__contains__):
                    yield from live_words(item, live)
