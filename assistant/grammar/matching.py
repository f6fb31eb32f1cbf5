"""Matches a whole utterance against the network and gives its cheapest derivations, without repeats.

One pass forward over the words keeps the cheapest way to every state, then the ways are walked backward, cheapest
first. Work is bounded by words × states alive at once, and by the number of derivations asked for; a state's moves
are worked out on first use and kept, so that what was said once is fast from then on.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from heapq import heappop, heappush

from assistant.grammar.derivation import Mark, Node, Step, built
from assistant.grammar.filling import ANYTHING, NUMERAL
from assistant.grammar.network import Network

_NUMERAL = re.compile(r"[0-9]+(\.[0-9]+)?")
_END = ""
MOST_PER_MOVE = 8
"""Different ways between the same two states by the same word beyond this many, the dearest, are forgotten."""
TRIES_PER_DERIVATION = 4
"""How many complete ways may turn out to be repeats for each derivation asked for."""


class _Frame:
    """A rule being gone through, called from `parent`, where it goes on at node `after`."""

    __slots__ = ("after", "children", "parent", "states")

    def __init__(self, parent: _Frame | None, after: int) -> None:
        self.parent = parent
        self.after = after
        self.children: dict[tuple[str, int], _Frame] = {}
        self.states: dict[int, _State] = {}

    def state(self, node: int) -> _State:
        return self.states.get(node) or self.states.setdefault(node, _State(self, node))

    def child(self, rule: str, after: int) -> _Frame:
        key = (rule, after)
        return self.children.get(key) or self.children.setdefault(key, _Frame(self, after))


class _State:
    """A node within a frame, right after a word; `moves` holds for each word where it leads."""

    __slots__ = ("frame", "moves", "node")

    def __init__(self, frame: _Frame, node: int) -> None:
        self.frame = frame
        self.node = node
        self.moves: dict[str, tuple[_Move, ...]] = {}


_Move = tuple[float, _State, tuple[Mark, ...]]
_Arrivals = dict[_State, list[tuple[float, _State, tuple[Mark, ...]]]]
"""For each state after a word: from where, by what marks and at what cost of its own it is reached."""


class Matcher:
    """Whole-utterance matching from one root rule."""

    def __init__(self, network: Network, root: str) -> None:
        self._network = network
        self._root = root
        self._words = frozenset(word for words in network.words for word, _, _ in words)
        self._start = _Frame(None, -1).state(network.entry[root])
        self._finish = _Frame(None, -1).state(-1)

    def parse(self, tokens: Sequence[str], limit: int) -> tuple[Node, ...]:
        """At most `limit` derivations, cheapest first; none where the words as a whole do not match."""
        costs, arrivals = self._forward(tokens)
        if not arrivals:
            return ()
        seen: set[tuple[tuple[Mark, ...], ...]] = set()
        found: list[Node] = []
        for tries, (cost, steps) in enumerate(self._backward(tokens, costs, arrivals)):
            way = tuple(marks for marks, _ in steps)
            if way not in seen:
                seen.add(way)
                found.append(built(self._root, steps, cost))
            if len(found) == limit or tries == limit * TRIES_PER_DERIVATION:
                break
        return tuple(found)

    def matches(self, tokens: Sequence[str]) -> bool:
        """Whether the words as a whole match."""
        return bool(self._forward(tokens)[1])

    def _key(self, token: str) -> str:
        if token in self._words:
            return token
        return NUMERAL if _NUMERAL.fullmatch(token) else ANYTHING

    def _forward(self, tokens: Sequence[str]) -> tuple[list[dict[_State, float]], list[_Arrivals]]:
        """Per word the cheapest cost of every state alive, and the arrivals; two empty lists where none survives."""
        costs: list[dict[_State, float]] = [{self._start: 0.0}]
        arrivals: list[_Arrivals] = []
        for key in (*map(self._key, tokens), _END):
            here: dict[_State, float] = {}
            ways: _Arrivals = {}
            for state, cost in costs[-1].items():
                moves = state.moves.get(key)
                if moves is None:
                    moves = state.moves[key] = self._moves(state, key)
                for more, target, marks in moves:
                    total = cost + more
                    if target in here:
                        ways[target].append((more, state, marks))
                        if total < here[target]:
                            here[target] = total
                    else:
                        here[target] = total
                        ways[target] = [(more, state, marks)]
            if not here:
                return [], []
            costs.append(here)
            arrivals.append(ways)
        return costs, arrivals

    def _backward(
        self, tokens: Sequence[str], costs: list[dict[_State, float]], arrivals: list[_Arrivals]
    ) -> Iterator[tuple[float, list[Step]]]:
        """Complete ways, cheapest first (A*, for which the forward costs are an exact forecast)."""
        words = (*tokens, _END)
        pushed = 0
        best = costs[-1][self._finish]
        heap: list[tuple[float, int, int, _State, float, _Trail]] = [
            (best, len(words), 0, self._finish, 0.0, None),
        ]
        while heap:
            total, at, _, state, behind, trail = heappop(heap)
            if at == 0:
                yield total, _steps(trail)
                continue
            before = costs[at - 1]
            for more, source, marks in arrivals[at - 1][state]:
                pushed += 1
                cost = behind + more
                forecast = round(before[source] + cost, 6)
                heappush(heap, (forecast, at - 1, pushed, source, cost, ((marks, words[at - 1]), trail)))

    def _moves(self, state: _State, key: str) -> tuple[_Move, ...]:
        found: dict[_State, dict[tuple[Mark, ...], float]] = {}
        self._spread(state.frame, state.node, key, 0.0, (), found)
        return tuple(
            (cost, target, marks)
            for target, ways in found.items()
            for marks, cost in sorted(ways.items(), key=lambda way: way[1])[:MOST_PER_MOVE]
        )

    def _spread(
        self,
        frame: _Frame,
        node: int,
        key: str,
        cost: float,
        marks: tuple[Mark, ...],
        found: dict[_State, dict[tuple[Mark, ...], float]],
    ) -> None:
        """Put into `found` every state reached from the node by one word, through rules that open and close."""
        onward = self._network.onward_by(node, key)
        for arcs in onward.words.values():
            for arc in arcs:
                _keep(found, frame.state(arc.target), (*marks, *arc.marks), cost + arc.cost)
        for call in onward.calls:
            way = (*marks, *call.marks, call.rule)
            inner = frame.child(call.rule, call.target)
            self._spread(inner, self._network.entry[call.rule], key, cost + call.cost, way, found)
        for more, passed in onward.ends:
            way = (*marks, *passed, None)
            if frame.parent is not None:
                self._spread(frame.parent, frame.after, key, cost + more, way, found)
            elif key == _END:
                _keep(found, self._finish, way, cost + more)


_Trail = tuple[Step, "_Trail"] | None


def _steps(trail: _Trail) -> list[Step]:
    steps: list[Step] = []
    while trail is not None:
        step, trail = trail
        steps.append(step)
    return steps


def _keep(
    found: dict[_State, dict[tuple[Mark, ...], float]], state: _State, marks: tuple[Mark, ...], cost: float
) -> None:
    ways = found.setdefault(state, {})
    ways[marks] = min(cost, ways.get(marks, cost))
