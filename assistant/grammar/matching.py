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
# What is this much less likely (natural logarithm) than the best is left out: of 1,356 decisions on tuning speech in
# noise none came out otherwise at 8, 8 did at 6.
BEAM = 8.0

_Ways = list[tuple[float, tuple[Symbol, ...]]]
"""Costs and what was passed within the rule so far, cheapest first."""


_Made = dict[tuple[str, tuple[int, ...]], Node]
"""Every node made, by its rule and the identities of what was passed in it: equal parts are one and the same node."""


class _Begun:
    """A rule followed from one place on, and all who called it there."""

    __slots__ = ("callers", "rule")

    def __init__(self, rule: str) -> None:
        self.rule = rule
        self.callers: list[tuple[_Item, CallArc]] = []


class _Done:
    """A rule that may end at one place, and where it stood there."""

    __slots__ = ("ends", "rule", "ways")

    def __init__(self, rule: str) -> None:
        self.rule = rule
        self.ends: list[tuple[_Item, list[tuple[float, tuple[Mark, ...]]]]] = []
        self.ways: list[tuple[float, Node]] | None = None

    def missing(self) -> list[_Item | _Done]:
        return [item for item, _ in self.ends if item.ways is None]

    def put_together(self, limit: int, made: _Made) -> None:
        ways = [
            (cost + more, passed + marks)
            for item, ends in self.ends
            for cost, passed in item.ways or ()
            for more, marks in ends
        ]
        self.ways = [(cost, self._made(passed, made)) for cost, passed in _cheapest(ways, limit)]

    def _made(self, passed: tuple[Symbol, ...], made: _Made) -> Node:
        key = (self.rule, _identity(passed))
        node = made.get(key)
        if node is None:
            node = made[key] = built(self.rule, passed)
        return node


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

    def put_together(self, limit: int, made: _Made) -> None:
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
        return self._derivations(_Trail(self.network, self._root), tokens, limit)

    def parse_each(self, utterances: Sequence[Sequence[str]], limit: int) -> tuple[tuple[Node, ...], ...]:
        """The same for each of several utterances; a beginning that they share is followed once.

        Equal nodes within the derivations are one and the same object.
        """
        trail = _Trail(self.network, self._root)
        found = {tokens: self._derivations(trail, tokens, limit) for tokens in sorted(set(map(tuple, utterances)))}
        return tuple(found[tuple(tokens)] for tokens in utterances)

    def matches(self, tokens: Sequence[str]) -> bool:
        """Whether the words as a whole match."""
        return _Trail(self.network, self._root).followed(tokens, self._keys(tokens)) is not None

    def leading(self, tokens: Sequence[str]) -> int:
        """How many words at the beginning match as a whole, at most; 0 where none do."""
        trail, most = _Trail(self.network, self._root), 0
        for count in range(1, len(tokens) + 1):
            words = tokens[:count]
            if trail.followed(words, self._keys(words)) is not None:
                most = count
            if not trail.goes_on(count):
                break
        return most

    def _derivations(self, trail: _Trail, tokens: Sequence[str], limit: int) -> tuple[Node, ...]:
        done = trail.followed(tokens, self._keys(tokens))
        if done is None:
            return ()
        _put_together(done, limit, trail.made)
        return tuple(Node(node.rule, node.parts, cost) for cost, node in done.ways or ())

    def _keys(self, tokens: Sequence[str]) -> list[str]:
        """What each word is to the network, and the end after them."""
        return [*map(self._key, tokens), _END]

    def _key(self, token: str) -> str:
        if token in self._words:
            return token
        return NUMERAL if _NUMERAL.fullmatch(token) else ANYTHING


class _Trail:
    """The words followed last, with the items at each place, from where the next words may go on.

    The items at a place depend on the words before it and on what the word after it is to the network, nothing else.
    """

    def __init__(self, network: Network, root: str) -> None:
        self.made: _Made = {}
        self._network = network
        self._words: dict[str, Word] = {}
        self._root = _Begun(root)
        self._tokens: Sequence[str] = ()
        self._keys: list[str] = []
        self._places: list[list[_Item]] = [[_Item(network.entry[root], self._root, [(0.0, ())])]]

    def followed(self, tokens: Sequence[str], keys: list[str]) -> _Done | None:
        """The root rule done at the end of the words, or None."""
        shared = self._shared(tokens, keys)
        del self._places[shared + 1 :]
        self._tokens, self._keys = tokens, keys
        items, ends = self._places[shared], {} if tokens else self._ends_at_once()
        for place in range(shared, len(tokens)):
            if not items:
                break
            word = self._words.setdefault(tokens[place], Word(tokens[place]))
            column = self._eaten(items, word, keys[place], keys[place + 1])
            items, ends = self._ended(column, keys[place + 1])
            self._places.append(items)
        return ends.get(self._root) if items else None

    def goes_on(self, place: int) -> bool:
        """Whether the words followed last came as far as that place."""
        return len(self._places) > place

    def _shared(self, tokens: Sequence[str], keys: list[str]) -> int:
        """How many words at the beginning are those of before, the one after them being the same to the network."""
        most = min(len(self._places) - 1, len(tokens), len(self._tokens))
        same = next((at for at in range(most) if tokens[at] != self._tokens[at]), most)
        while same and keys[same] != self._keys[same]:
            same -= 1
        return same

    def _ends_at_once(self) -> dict[_Begun, _Done]:
        (item,) = self._places[0]
        done = _Done(self._root.rule)
        done.ends = [(item, ends)] if (ends := self._network.onward(item.node).ends) else []
        return {self._root: done} if done.ends else {}

    def _eaten(self, items: list[_Item], word: Word, key: str, after: str) -> _Column:
        """The items after the word, for which `after` may follow; rules that can begin with it are begun."""
        column: _Column = {}
        begun: dict[str, _Begun] = {}
        onwards, afterwards = self._network.onward_by(key), self._network.onward_by(after)
        entry = self._network.entry
        waiting = items.copy()
        for item in waiting:
            onward = onwards[item.node]
            if onward is None:
                continue
            for cost, marks, target in onward.arcs:
                if afterwards[target] is not None:
                    _reached(column, target, item.begun).arrivals.append((item, cost, marks, word))
            for call in onward.calls:
                called = begun.get(call.rule)
                if called is None:
                    called = begun[call.rule] = _Begun(call.rule)
                    waiting.append(_Item(entry[call.rule], called, [(0.0, ())]))
                called.callers.append((item, call))
        return column

    def _ended(self, column: _Column, after: str) -> tuple[list[_Item], dict[_Begun, _Done]]:
        """All items at the place, and the rules that may end there.

        The items are those of the column, and those where rules go on whose called rule may end here.
        """
        items = list(column.values())
        dones: dict[_Begun, _Done] = {}
        afterwards = self._network.onward_by(after)
        for item in items:
            onward = afterwards[item.node]
            if onward is None or not onward.ends:
                continue
            begun = item.begun
            done = dones.get(begun)
            if done is None:
                done = dones[begun] = _Done(begun.rule)
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
        return items, dones


def _reached(column: _Column, node: int, begun: _Begun) -> _Item:
    key = (node, begun)
    found = column.get(key)
    if found is None:
        found = column[key] = _Item(node, begun)
    return found


def _put_together(goal: _Done, limit: int, made: _Made) -> None:
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
            one.put_together(limit, made)


def _cheapest(ways: _Ways, limit: int) -> _Ways:
    """At most `limit` within BEAM, sorted, none twice: parts of a rule at one place are equal only if identical."""
    if len(ways) < 2:
        return ways
    ways = sorted(ways, key=_cost)
    dearest = ways[0][0] + BEAM
    different: dict[tuple[int, ...], tuple[float, tuple[Symbol, ...]]] = {}
    for way in ways:
        if len(different) == limit or way[0] > dearest:
            break
        different.setdefault(_identity(way[1]), way)
    return list(different.values())


def _cost(way: tuple[float, tuple[Symbol, ...]]) -> float:
    return way[0]


def _identity(symbols: Iterable[Symbol]) -> tuple[int, ...]:
    return tuple(map(id, symbols))
