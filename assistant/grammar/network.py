"""The rules as one network of nodes: arcs that eat a word, arcs that call a rule, and silent arcs that leave a tag.

A rule is laid down once however often it is called, so that building stays linear in the length of the grammar text.
Costs are negative natural logarithms: alternatives share one by their weights, a loop goes on with its own probability.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import log
from typing import NamedTuple

from assistant.grammar.derivation import Mark, Tag
from assistant.grammar.filling import ANYTHING, grown, live_rules
from assistant.grammar.linking import matchable, may_be_empty, references
from assistant.grammar.tree import (
    Expansion,
    InOrder,
    Literal,
    OneOf,
    Reference,
    Repeated,
    TagText,
)


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
    """Nodes are numbers; `entry` is a rule's first node, `last` holds every rule's last, `loops` where loops begin.

    Silent arcs are gone through, and so are rules that may be empty; with `keeps_steps` neither these rules nor the
    way to a loop's beginning are (its tags are then lost).
    """

    words: list[list[tuple[str, float, int]]] = field(default_factory=list)
    calls: list[list[tuple[str, float, int]]] = field(default_factory=list)
    silent: list[list[tuple[tuple[Mark, ...], float, int]]] = field(default_factory=list)
    entry: dict[str, int] = field(default_factory=dict)
    last: set[int] = field(default_factory=set)
    loops: set[int] = field(default_factory=set)
    keeps_steps: bool = False
    first: dict[str, frozenset[str]] = field(default_factory=dict)
    empty: frozenset[str] = frozenset()
    _onward: dict[int, Onward] = field(default_factory=dict)
    _by_word: dict[str, OnwardByWord] = field(default_factory=dict)

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

    def onward_by(self, word: str) -> OnwardByWord:
        """For each node the arcs by which `word`, or with "" the end, can be reached; None where there are none."""
        found = self._by_word.get(word)
        return found if found is not None else self._by_word.setdefault(word, OnwardByWord(self, word))

    def _gone_through(self, start: int) -> Onward:
        onward = Onward({}, [], [], [])
        waiting: list[tuple[int, float, tuple[Mark, ...]]] = [(start, 0.0, ())]
        while waiting:
            node, cost, marks = waiting.pop()
            for word, more, target in self.words[node]:
                onward.words.setdefault(word, []).append(WordArc(cost + more, marks, target))
            for rule, more, target in self.calls[node]:
                onward.calls.append(CallArc(cost + more, marks, rule, target))
                if rule in self.empty and not self.keeps_steps:
                    for less, passed in self.onward(self.entry[rule]).ends:
                        waiting.append((target, cost + more + less, (*marks, rule, *passed, None)))
            if node in self.last:
                onward.ends.append((cost, marks))
            for passed, more, target in self.silent[node]:
                if self.keeps_steps and target in self.loops:
                    onward.loops.append((cost + more, target))
                    continue
                waiting.append((target, cost + more, (*marks, *passed)))
        return onward


class OnwardBy(NamedTuple):
    """What of a node's arcs a word leaves open."""

    arcs: list[WordArc]
    calls: list[CallArc]
    ends: list[tuple[float, tuple[Mark, ...]]]


class OnwardByWord(dict[int, OnwardBy | None]):
    """Of the arcs of each node those that a word leaves open; worked out when first asked for."""

    def __init__(self, network: Network, word: str) -> None:
        super().__init__()
        self._network = network
        self._begins = (word, ANYTHING) if word else ()

    def __missing__(self, node: int) -> OnwardBy | None:
        onward, first = self._network.onward(node), self._network.first
        arcs = [arc for one in self._begins for arc in onward.words.get(one, ())]
        calls = [call for call in onward.calls if not first[call.rule].isdisjoint(self._begins)]
        found = self[node] = OnwardBy(arcs, calls, onward.ends) if arcs or calls or onward.ends else None
        return found


def build_network(filled: Mapping[str, Expansion], root: str, *, keeps_steps: bool = False) -> Network:
    """The network of linked and filled rules; the root and the rules called from several places have an entry."""
    builder = _Builder(filled, root)
    builder.lay_rules()
    network = builder.network
    network.keeps_steps = keeps_steps
    network.empty = _empty(filled)
    network.first = _first_words(filled, network.empty)
    return network


class _Builder:
    def __init__(self, filled: Mapping[str, Expansion], root: str) -> None:
        self.network = Network()
        self._filled = filled
        self._alive = live_rules(filled)
        self._called_once = _called_once(filled) - {root}
        self._tags: dict[str, Tag] = {}

    def lay_rules(self) -> None:
        network = self.network
        for name, expansion in self._filled.items():
            if name in self._called_once:
                continue
            first, last = network.node(), network.node()
            network.entry[name] = first
            network.last.add(last)
            if name in self._alive:
                self._lay(expansion, first, last, 0.0)

    def _lay(self, expansion: Expansion, source: int, target: int, cost: float) -> None:
        """Arcs from source to target for the expansion; the first of them carry the cost."""
        network = self.network
        match expansion:
            case Literal(word):
                network.words[source].append((word, cost, target))
            case Reference(name):
                self._lay_call(name, source, target, cost)
            case TagText(text):
                network.silent[source].append(((self._tags.setdefault(text, Tag(text)),), cost, target))
            case InOrder(items):
                self._lay_in_order(items, source, target, cost)
            case OneOf(items, weights):
                self._lay_one_of(items, weights, source, target, cost)
            case Repeated():
                self._lay_repeated(expansion, source, target, cost)

    def _lay_call(self, name: str, source: int, target: int, cost: float) -> None:
        """A rule that is called from this place alone is laid down here, between marks."""
        network = self.network
        if name not in self._called_once:
            network.calls[source].append((name, cost, target))
            return
        inner, end = network.node(), network.node()
        network.silent[source].append(((name,), cost, inner))
        self._lay(self._filled[name], inner, end, 0.0)
        network.silent[end].append(((None,), 0.0, target))

    def _lay_in_order(self, items: Sequence[Expansion], source: int, target: int, cost: float) -> None:
        if not items:
            self.network.silent[source].append(((), cost, target))
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

    def _lay_repeated(self, loop: Repeated, source: int, target: int, cost: float) -> None:
        """The item from the hub round to the end, and from there on or out; where none is needed, straight out."""
        network, item = self.network, loop.item
        if not matchable(item, self._alive.__contains__):
            network.silent[source].append(((), cost, target))
            return
        hub, end = network.node(), network.node()
        network.loops.add(hub)
        network.silent[source].append(((), cost, hub))
        go_on, go_out = -log(loop.go_on), -log(1.0 - loop.go_on)
        if loop.at_least:
            self._lay(item, hub, end, 0.0)
            network.silent[end].append(((), go_on, hub))
        else:
            self._lay(item, hub, end, go_on)
            network.silent[end].append(((), 0.0, hub))
            end = hub
        network.silent[end].append(((), go_out, target))


def _called_once(filled: Mapping[str, Expansion]) -> frozenset[str]:
    """The rules that one place alone calls, and that do not come back to themselves."""
    calls = {name: [one.name for one in references(expansion)] for name, expansion in filled.items()}
    count = Counter(called for names in calls.values() for called in names)
    return frozenset(name for name in filled if count[name] == 1 and name not in _inside(calls, name))


def _inside(calls: Mapping[str, Sequence[str]], name: str) -> set[str]:
    """All rules that the rule calls, directly or not."""
    found: set[str] = set()
    waiting = [name]
    while waiting:
        fresh = [called for called in calls.get(waiting.pop(), ()) if called not in found]
        found.update(fresh)
        waiting += fresh
    return found


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
