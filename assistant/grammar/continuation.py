"""How an utterance that has begun may go on: takes the acceptor and the words so far, gives what can follow.

Is it a whole sentence, how likely is it to end here, which words come next; nothing where no sentence begins so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import exp

LEAST = 1e-9
"""A share of the mass below which a way is not followed further."""

Arc = tuple[int, str, float, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Continuation:
    """What can follow some words. `ends` is the probability that nothing does, given that these words were said.

    `nexts` are the words that may come next with their probabilities, the likeliest first.
    """

    ends: float
    nexts: tuple[tuple[str, float], ...]

    @property
    def complete(self) -> bool:
        """Whether the words are a whole utterance."""
        return self.ends > 0.0


class Continuations:
    """The acceptor made ready for asking. Arcs and finals as in `Acceptor`: costs are -ln probability."""

    def __init__(self, arcs: Iterable[Arc], start: int, finals: Mapping[int, float]) -> None:
        self._start = start
        self._ends = {state: exp(-cost) for state, cost in finals.items()}
        self._onward: dict[int, dict[str, tuple[float, int]]] = {}
        self._silent: dict[int, list[tuple[float, int]]] = {}
        for source, word, cost, target in arcs:
            if word:
                self._onward.setdefault(source, {})[word] = (exp(-cost), target)
            else:
                self._silent.setdefault(source, []).append((exp(-cost), target))

    def after(self, words: Sequence[str]) -> Continuation | None:
        """What can follow the words; None where no utterance of the grammar begins with them."""
        masses = self._spread({self._start: 1.0})
        for word in words:
            masses = self._spread(_as_shares(self._moved(masses, word)))
        total = sum(mass * self._kept(state) for state, mass in masses.items())
        if total <= 0.0:
            return None
        nexts: dict[str, float] = {}
        for state, mass in masses.items():
            for word, (chance, _) in self._onward.get(state, {}).items():
                nexts[word] = nexts.get(word, 0.0) + mass * chance / total
        ends = sum(mass * self._ends.get(state, 0.0) for state, mass in masses.items()) / total
        return Continuation(ends=ends, nexts=tuple(sorted(nexts.items(), key=lambda each: (-each[1], each[0]))))

    def _moved(self, masses: Mapping[int, float], word: str) -> dict[int, float]:
        moved: dict[int, float] = {}
        for state, mass in masses.items():
            step = self._onward.get(state, {}).get(word)
            if step is not None:
                moved[step[1]] = moved.get(step[1], 0.0) + mass * step[0]
        return moved

    def _kept(self, state: int) -> float:
        """The share of a state's mass that takes none of its silent arcs."""
        return max(0.0, 1.0 - sum(chance for chance, _ in self._silent.get(state, ())))

    def _spread(self, masses: dict[int, float]) -> dict[int, float]:
        """With the states that silent arcs lead to; what goes there is counted there (`_kept`), and once."""
        if not any(state in self._silent for state in masses):
            return masses
        spread: dict[int, float] = {}
        waiting = list(masses.items())
        while waiting:
            state, mass = waiting.pop()
            spread[state] = spread.get(state, 0.0) + mass
            onward = ((target, mass * chance) for chance, target in self._silent.get(state, ()))
            waiting += [(target, share) for target, share in onward if share > LEAST]
        return spread


def _as_shares(masses: dict[int, float]) -> dict[int, float]:
    """The masses made to add up to one: long utterances are unlikely, and their states still to be told apart."""
    total = sum(masses.values())
    return {state: mass / total for state, mass in masses.items()} if total > 0 else {}
