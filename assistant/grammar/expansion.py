"""The network followed through its calls: a finite automaton over words, made deterministic.

A state is a node and the stack of places to go back to. A call at the end of its rule pushes nothing, which keeps
recursion at the end finite.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from assistant.grammar.alike import alike
from assistant.grammar.filling import ANYTHING
from assistant.grammar.network import CallArc, Network, Onward

UNKNOWN = "[unk]"
SILENT = ""

MANY_WORDS = 40
"""A loop that begins with as many words is entered by a silent arc; else every place it can follow repeats its arcs."""

_Reach = dict[str, frozenset[int]]


@dataclass(frozen=True, slots=True)
class Table:
    """A deterministic automaton: for each state its arcs (word → state), and whether an utterance may end there."""

    arcs: list[dict[str, int]]
    ends: list[bool]


@dataclass(frozen=True, slots=True)
class Local:
    """What leaves one state: arcs that eat a word (its word, chance and target), silent arcs, the chance of ending."""

    words: list[str]
    chances: list[float]
    targets: list[int]
    silent: list[tuple[float, int]]
    end: float


class Expanded:
    """The automaton of the utterances of one root rule; states are numbered as they are met, the first is 0."""

    def __init__(self, network: Network, root: str) -> None:
        self._network = network
        self._alike = alike(network)
        self._frames: list[tuple[int, int]] = []
        self._frame_number: dict[tuple[int, int], int] = {}
        self._states: list[tuple[int, int]] = []
        self._state_number: dict[tuple[int, int], int] = {}
        self._locals: dict[int, Local] = {}
        self._reached: dict[int, tuple[_Reach, bool]] = {}
        self._state(network.entry[root], -1)

    def local(self, state: int) -> Local:
        """What leaves the state."""
        found = self._locals.get(state)
        if found is None:
            found = self._locals[state] = self._followed(*self._states[state])
        return found

    @property
    def state_count(self) -> int:
        """How many states were met so far; all of them once `deterministic` has gone through them."""
        return len(self._states)

    def _state(self, node: int, frame: int) -> int:
        key = (self._alike[node], frame)
        number = self._state_number.setdefault(key, len(self._states))
        if number == len(self._states):
            self._states.append(key)
        return number

    def _frame(self, parent: int, after: int) -> int:
        onward = self._network.onward(after)
        if not onward.words and not onward.calls and not onward.loops and [cost for cost, _ in onward.ends] == [0.0]:
            return parent
        key = (parent, self._alike[after])
        number = self._frame_number.setdefault(key, len(self._frames))
        if number == len(self._frames):
            self._frames.append(key)
        return number

    def _followed(self, node: int, frame: int) -> Local:
        onward = self._network.onward(node)
        spoken = [(UNKNOWN if word == ANYTHING else word, arc) for word, arcs in onward.words.items() for arc in arcs]
        words = [word for word, _ in spoken]
        chances = [exp(-arc.cost) for _, arc in spoken]
        targets = [self._state(arc.target, frame) for _, arc in spoken]
        silent = [(exp(-call.cost), self._called(call, frame)) for call in onward.calls if self._alive(call)]
        silent += [(exp(-cost), self._state(loop, frame)) for cost, loop in onward.loops]
        end = self._end(onward)
        if end and frame >= 0:
            parent, after = self._frames[frame]
            silent.append((end, self._state(after, parent)))
            end = 0.0
        return Local(words, chances, targets, silent, end)

    def _alive(self, call: CallArc) -> bool:
        return bool(self._network.first[call.rule]) or call.rule in self._network.empty

    def _called(self, call: CallArc, frame: int) -> int:
        return self._state(self._network.entry[call.rule], self._frame(frame, call.target))

    @staticmethod
    def _end(onward: Onward) -> float:
        return sum(exp(-cost) for cost, _ in onward.ends)

    def deterministic(self) -> Table:
        """The same language with at most one arc per word from each state; state 0 is the first."""
        table = Table([], [])
        number: dict[tuple[int, bool], int] = {}
        of_set: dict[frozenset[int], int] = {}
        reaches: list[_Reach] = []

        def state(members: frozenset[int]) -> int:
            found = of_set.get(members)
            if found is None:
                reach, ends = self._together(members)
                found = of_set[members] = number.setdefault((id(reach), ends), len(reaches))
                if found == len(reaches):
                    reaches.append(reach)
                    table.ends.append(ends)
            return found

        state(frozenset([0]))
        while len(table.arcs) < len(reaches):
            reach = reaches[len(table.arcs)]
            table.arcs.append({word: state(members) for word, members in reach.items()})
        return table

    def _reach(self, state: int) -> tuple[_Reach, bool]:
        """By which words which states are reached, silent arcs gone through; whether the utterance may end."""
        found = self._reached.get(state)
        if found is None:
            local = self.local(state)
            own: dict[str, set[int]] = {}
            for word, target in zip(local.words, local.targets, strict=True):
                own.setdefault(word, set()).add(target)
            parts = [self._entered(target) for _, target in local.silent]
            parts.append(({word: frozenset(targets) for word, targets in own.items()}, local.end > 0.0))
            found = self._reached[state] = _merged(parts)
        return found

    def _entered(self, state: int) -> tuple[_Reach, bool]:
        """What a silent arc to the state adds: all that the state reaches, or for a wide loop a silent arc."""
        return ({SILENT: frozenset([state])}, False) if self.entered_silently(state) else self._reach(state)

    def entered_silently(self, state: int) -> bool:
        """Whether the state begins a wide loop, so that the deterministic automaton keeps the silent arcs to it."""
        return self._states[state][0] in self._network.loops and len(self._reach(state)[0]) >= MANY_WORDS

    def _together(self, members: frozenset[int]) -> tuple[_Reach, bool]:
        return _merged([self._reach(state) for state in members])


def _merged(parts: list[tuple[_Reach, bool]]) -> tuple[_Reach, bool]:
    """The union; where only one part has words at all it is given back itself, so that equal states are seen equal."""
    ends = any(end for _, end in parts)
    spoken = list({id(reach): reach for reach, _ in parts if reach}.values())
    if not spoken:
        return parts[0][0], ends
    if len(spoken) == 1:
        return spoken[0], ends
    spoken.sort(key=len, reverse=True)
    union = dict(spoken[0])
    for reach in spoken[1:]:
        for word, targets in reach.items():
            have = union.get(word)
            union[word] = targets if have is None else have | targets
    return union, ends
