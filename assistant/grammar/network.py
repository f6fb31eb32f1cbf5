"""The rules as one network of nodes: arcs that eat a word, arcs that call a rule, and silent arcs that leave a tag.

A rule is laid down once however often it is called, so that building stays linear in the length of the grammar text.
Costs are negative natural logarithms: alternatives share one by their weights, a loop goes on with LOOP_ON.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import log
from typing import NamedTuple

from assistant.grammar.derivation import Mark, Tag
from assistant.grammar.filling import ANYTHING, grown, live_rules
from assistant.grammar.linking import matchable, may_be_empty
from assistant.grammar.tree import (
    Expansion,
    InOrder,
    Literal,
    OneOf,
    Reference,
    Repeated,
    TagText,
)

LOOP_ON = 0.3
"""Probability that a loop is gone through once more; our choice, no source."""


class WordArc(NamedTuple):
    cost: float
    marks: tuple[Mark, ...]
    target: int


class CallArc(NamedTuple):
    cost: float
    marks: tuple[Mark, ...]
    rule: str
    target: int


class Onward(NamedTuple):
    """What can happen from a node within its rule: eat a word, call a rule, end the rule, or go to a kept loop."""

    words: dict[str, list[WordArc]]
    calls: list[CallArc]
    ends: list[tuple[float, tuple[Mark, ...]]]
    loops: list[tuple[float, int]]


@dataclass(slots=True)
class Network:
    """Nodes are numbers; `entry` and `leave` are a rule's first and last node, `loops` where loops begin.

    With `keeps_loops` the way to a loop's beginning is not gone through (its tags are then lost).
    """

    words: list[list[tuple[str, float, int]]] = field(default_factory=list)
    calls: list[list[tuple[str, float, int]]] = field(default_factory=list)
    silent: list[list[tuple[Tag | None, float, int]]] = field(default_factory=list)
    entry: dict[str, int] = field(default_factory=dict)
    leave: dict[str, int] = field(default_factory=dict)
    last: set[int] = field(default_factory=set)
    loops: set[int] = field(default_factory=set)
    keeps_loops: bool = False
    first: dict[str, frozenset[str]] = field(default_factory=dict)
    empty: frozenset[str] = frozenset()
    _onward: dict[int, Onward] = field(default_factory=dict)
    _by_word: dict[tuple[int, str], Onward] = field(default_factory=dict)

    def node(self) -> int:
        self.words.append([])
        self.calls.append([])
        self.silent.append([])
        return len(self.words) - 1

    def onward(self, node: int) -> Onward:
        """The node's arcs with the silent ones gone through; kept once made."""
        found = self._onward.get(node)
        if found is None:
            found = self._onward[node] = self._gone_through(node)
        return found

    def onward_by(self, node: int, word: str) -> Onward:
        """Of the node's arcs those by which `word`, or with "" the end, can be reached; kept once made."""
        found = self._by_word.get((node, word))
        if found is None:
            onward = self.onward(node)
            words = {one: onward.words[one] for one in (word, ANYTHING) if word and one in onward.words}
            calls = [call for call in onward.calls if self._can_begin(call.rule, word)]
            found = self._by_word[node, word] = Onward(words, calls, onward.ends, [])
        return found

    def _can_begin(self, rule: str, word: str) -> bool:
        first = self.first[rule]
        return rule in self.empty or (bool(word) and (word in first or ANYTHING in first))

    def _gone_through(self, start: int) -> Onward:
        onward = Onward({}, [], [], [])
        waiting: list[tuple[int, float, tuple[Mark, ...]]] = [(start, 0.0, ())]
        while waiting:
            node, cost, marks = waiting.pop()
            for word, more, target in self.words[node]:
                onward.words.setdefault(word, []).append(WordArc(cost + more, marks, target))
            for rule, more, target in self.calls[node]:
                onward.calls.append(CallArc(cost + more, marks, rule, target))
            if node in self.last:
                onward.ends.append((cost, marks))
            for tag, more, target in self.silent[node]:
                if self.keeps_loops and target in self.loops:
                    onward.loops.append((cost + more, target))
                    continue
                waiting.append((target, cost + more, marks if tag is None else (*marks, tag)))
        return onward


def build_network(filled: Mapping[str, Expansion], *, keeps_loops: bool = False) -> Network:
    """The network of linked and filled rules."""
    builder = _Builder(filled)
    for name, expansion in filled.items():
        builder.lay_rule(name, expansion)
    network = builder.network
    network.keeps_loops = keeps_loops
    network.empty = _empty(filled)
    network.first = _first_words(filled, network.empty)
    return network


class _Builder:
    def __init__(self, filled: Mapping[str, Expansion]) -> None:
        self.network = Network()
        self._alive = live_rules(filled)
        for name in filled:
            self.network.entry[name] = self.network.node()
            self.network.leave[name] = self.network.node()
        self.network.last = set(self.network.leave.values())

    def lay_rule(self, name: str, expansion: Expansion) -> None:
        if name in self._alive:
            self._lay(expansion, self.network.entry[name], self.network.leave[name], 0.0)

    def _lay(self, expansion: Expansion, source: int, target: int, cost: float) -> None:
        """Arcs from source to target for the expansion; the first of them carry the cost."""
        network = self.network
        match expansion:
            case Literal(word):
                network.words[source].append((word, cost, target))
            case Reference(name):
                network.calls[source].append((name, cost, target))
            case TagText(text):
                network.silent[source].append((Tag(text), cost, target))
            case InOrder(items):
                self._lay_in_order(items, source, target, cost)
            case OneOf(items, weights):
                self._lay_one_of(items, weights, source, target, cost)
            case Repeated(item, at_least):
                self._lay_repeated(item, at_least, source, target, cost)

    def _lay_in_order(self, items: Sequence[Expansion], source: int, target: int, cost: float) -> None:
        if not items:
            self.network.silent[source].append((None, cost, target))
        for index, item in enumerate(items):
            following = target if index == len(items) - 1 else self.network.node()
            self._lay(item, source, following, cost)
            source, cost = following, 0.0

    def _lay_one_of(
        self, items: Sequence[Expansion], weights: Sequence[float], source: int, target: int, cost: float
    ) -> None:
        alive = [(i, w) for i, w in zip(items, weights, strict=True) if matchable(i, self._alive.__contains__)]
        total = sum(weight for _, weight in alive)
        for item, weight in alive:
            self._lay(item, source, target, cost - log(weight / total))

    def _lay_repeated(self, item: Expansion, at_least: int, source: int, target: int, cost: float) -> None:
        """The item from the hub round to the end, and from there on or out; where none is needed, straight out."""
        network = self.network
        if not matchable(item, self._alive.__contains__):
            network.silent[source].append((None, cost, target))
            return
        hub, end = network.node(), network.node()
        network.loops.add(hub)
        network.silent[source].append((None, cost, hub))
        go_on, go_out = -log(LOOP_ON), -log(1.0 - LOOP_ON)
        if at_least:
            self._lay(item, hub, end, 0.0)
            network.silent[end].append((None, go_on, hub))
        else:
            self._lay(item, hub, end, go_on)
            network.silent[end].append((None, 0.0, hub))
            end = hub
        network.silent[end].append((None, go_out, target))


def _empty(filled: Mapping[str, Expansion]) -> frozenset[str]:
    return grown(filled, may_be_empty)


def _first_words(filled: Mapping[str, Expansion], empty: frozenset[str]) -> dict[str, frozenset[str]]:
    """For each rule the words that it can begin with."""
    words: dict[str, set[str]] = {name: set() for name in filled}
    begins = {name: set(_beginnings(one, empty, words[name])) for name, one in filled.items()}
    more = True
    while more:
        more = False
        for name, others in begins.items():
            before = len(words[name])
            words[name].update(*(words[other] for other in others))
            more = more or len(words[name]) > before
    return {name: frozenset(found) for name, found in words.items()}


def _beginnings(expansion: Expansion, empty: frozenset[str], words: set[str]) -> Iterator[str]:
    """The rules that it can begin with; words that it can begin with are put into `words`."""
    match expansion:
        case Literal(word):
            words.add(word)
        case Reference(name):
            if name != "VOID":
                yield name
        case OneOf(items):
            for item in items:
                yield from _beginnings(item, empty, words)
        case Repeated(item):
            yield from _beginnings(item, empty, words)
        case InOrder(items):
            for item in items:
                yield from _beginnings(item, empty, words)
                if not may_be_empty(item, empty):
                    return
