"""Matches a whole utterance against the network and gives its cheapest derivations, without repeats.

Forward, word by word, every rule is followed once from each place where it can begin, whoever calls it (a stack shared
as a graph, as in Earley's and Tomita's parsers); then the cheapest few ways are put together, only for what is part of
a whole match. Both are bounded by a polynomial in the number of words, match or no match.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from assistant.grammar.derivation import Mark, Node, Symbol, Word, built
from assistant.grammar.filling import ANYTHING, NUMERAL
from assistant.grammar.network import CallArc, Network

_NUMERAL = re.compile(r"[0-9]+(\.[0-9]+)?")
_END = ""

_Ways = list[tuple[float, tuple[Symbol, ...]]]
"""Costs and what was passed within the rule so far, cheapest first."""


class _Begun:
    """A rule followed from one place on, and all who called it there."""

    __slots__ = ("callers", "done", "rule")

    def __init__(self, rule: str) -> None:
        self.rule = rule
        self.callers: list[tuple[_Item, CallArc]] = []
        self.done: dict[int, _Done] = {}


class _Done:
    """A rule that may end at one place, and where it stood there."""

    __slots__ = ("ends", "rule", "ways")

    def __init__(self, rule: str) -> None:
        self.rule = rule
        self.ends: list[tuple[_Item, list[tuple[float, tuple[Mark, ...]]]]] = []
        self.ways: list[tuple[float, Node]] | None = None

    def missing(self) -> list[_Item | _Done]:
        return [item for item, _ in self.ends if item.ways is None]

    def put_together(self, limit: int) -> None:
        ways = [
            (cost + more, passed + marks)
            for item, ends in self.ends
            for cost, passed in item.ways or ()
            for more, marks in ends
        ]
        self.ways = [(cost, built(self.rule, passed)) for cost, passed in _cheapest(ways, limit)]


class _Item:
    """A node of the network reached within a begun rule, and how: from which item, by what word or rule done."""

    __slots__ = ("arrivals", "begun", "node", "ways")

    def __init__(self, node: int, begun: _Begun, ways: _Ways | None = None) -> None:
        self.node = node
        self.begun = begun
        self.arrivals: list[tuple[_Item, float, tuple[Mark, ...], Word | _Done]] = []
        self.ways = ways

    def missing(self) -> list[_Item | _Done]:
        before: list[_Item | _Done] = [item for item, _, _, _ in self.arrivals if item.ways is None]
        return before + [by for _, _, _, by in self.arrivals if isinstance(by, _Done) and by.ways is None]

    def put_together(self, limit: int) -> None:
        ways: _Ways = []
        for item, more, marks, by in self.arrivals:
            for cost, passed in item.ways or ():
                if isinstance(by, Word):
                    ways.append((cost + more, (*passed, *marks, by)))
                else:
                    ways += [(cost + more + inner, (*passed, *marks, node)) for inner, node in by.ways or ()]
        self.ways = _cheapest(ways, limit)


_Column = dict[tuple[int, _Begun], _Item]


class Matcher:
    """Whole-utterance matching from one root rule."""

    def __init__(self, network: Network, root: str) -> None:
        self.network = network
        self._root = root
        self._words = frozenset(word for words in network.words for word, _, _ in words)

    def parse(self, tokens: Sequence[str], limit: int) -> tuple[Node, ...]:
        """At most `limit` derivations, cheapest first; none where the words as a whole do not match."""
        every: list[_Begun] = []
        done = self._followed(tokens, every)
        if done is not None:
            _put_together(done, limit)
        _let_go(every)
        return tuple(Node(node.rule, node.parts, cost) for cost, node in done.ways or ()) if done else ()

    def matches(self, tokens: Sequence[str]) -> bool:
        """Whether the words as a whole match."""
        every: list[_Begun] = []
        done = self._followed(tokens, every)
        _let_go(every)
        return done is not None

    def _key(self, token: str) -> str:
        if token in self._words:
            return token
        return NUMERAL if _NUMERAL.fullmatch(token) else ANYTHING

    def _followed(self, tokens: Sequence[str], every: list[_Begun]) -> _Done | None:
        """The root rule done at the end of the words; every rule begun is put into the list."""
        keys = [*map(self._key, tokens), _END]
        begun = _Begun(self._root)
        every.append(begun)
        items: list[_Item] = [_Item(self.network.entry[self._root], begun, [(0.0, ())])]
        if not tokens:
            return self._done_at_once(items[0])
        for place, token in enumerate(tokens):
            column = self._eaten(items, Word(token), keys[place], keys[place + 1], every)
            items = self._ended(column, place + 1, keys[place + 1])
            if not items:
                return None
        return begun.done.get(len(tokens))

    def _done_at_once(self, item: _Item) -> _Done | None:
        done = _Done(self._root)
        done.ends = [(item, ends)] if (ends := self.network.onward(item.node).ends) else []
        return done if done.ends else None

    def _eaten(self, items: list[_Item], word: Word, key: str, after: str, every: list[_Begun]) -> _Column:
        """The items after the word, for which `after` may follow; rules that can begin with it are begun."""
        column: _Column = {}
        begun: dict[str, _Begun] = {}
        onwards, afterwards = self.network.onward_by(key), self.network.onward_by(after)
        entry = self.network.entry
        for item in items:
            onward = onwards[item.node]
            if onward is None:
                continue
            for arcs in onward.words.values():
                for cost, marks, target in arcs:
                    if afterwards[target] is not None:
                        _reached(column, target, item.begun).arrivals.append((item, cost, marks, word))
            for call in onward.calls:
                called = begun.get(call.rule)
                if called is None:
                    called = begun[call.rule] = _Begun(call.rule)
                    items.append(_Item(entry[call.rule], called, [(0.0, ())]))
                called.callers.append((item, call))
        every += begun.values()
        return column

    def _ended(self, column: _Column, place: int, after: str) -> list[_Item]:
        """All items at the place: those of the column, and those where rules go on whose called rule may end here."""
        items = list(column.values())
        afterwards = self.network.onward_by(after)
        for item in items:
            onward = afterwards[item.node]
            if onward is None or not onward.ends:
                continue
            begun = item.begun
            done = begun.done.get(place)
            if done is None:
                done = begun.done[place] = _Done(begun.rule)
                for caller, call in begun.callers:
                    if afterwards[call.target] is None:
                        continue
                    key = (call.target, caller.begun)
                    back = column.get(key)
                    if back is None:
                        back = column[key] = _Item(call.target, caller.begun)
                        items.append(back)
                    back.arrivals.append((caller, call.cost, call.marks, done))
            done.ends.append((item, onward.ends))
        return items


def _reached(column: _Column, node: int, begun: _Begun) -> _Item:
    key = (node, begun)
    found = column.get(key)
    if found is None:
        found = column[key] = _Item(node, begun)
    return found


def _let_go(every: list[_Begun]) -> None:
    """Undo the circles between items and rules begun, so that nothing waits for the garbage collector."""
    for begun in every:
        begun.callers.clear()
        begun.done.clear()


def _put_together(goal: _Done, limit: int) -> None:
    """The cheapest ways of the goal and of all that it consists of, each once, without recursion."""
    waiting: list[_Item | _Done] = [goal]
    while waiting:
        one = waiting[-1]
        missing = one.missing() if one.ways is None else []
        if missing:
            waiting += missing
            continue
        waiting.pop()
        if one.ways is None:
            one.put_together(limit)


def _cheapest(ways: _Ways, limit: int) -> _Ways:
    """At most `limit`, sorted, none twice: parts of the same rule at the same place are equal only if identical."""
    if len(ways) < 2:
        return ways
    different: dict[tuple[int, ...], tuple[float, tuple[Symbol, ...]]] = {}
    for way in sorted(ways, key=_cost):
        different.setdefault(_identity(way[1]), way)
        if len(different) == limit:
            break
    return list(different.values())


def _cost(way: tuple[float, tuple[Symbol, ...]]) -> float:
    return way[0]


def _identity(symbols: Iterable[Symbol]) -> tuple[int, ...]:
    return tuple(map(id, symbols))
