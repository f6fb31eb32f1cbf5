"""How an utterance that has begun may go on: takes the acceptor and the words so far, gives what can follow.

Is it a whole sentence, how likely is it to end here, which words come next; nothing where no sentence begins so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import exp

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
            masses = self._spread(self._moved(masses, word))
        total = sum(masses.values())
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

    def _spread(self, masses: dict[int, float]) -> dict[int, float]:
        """The silent arcs gone through: what takes one leaves its state, so that nothing is counted twice."""
        if not any(state in self._silent for state in masses):
            return masses
        spread: dict[int, float] = {}
        waiting = list(masses.items())
        while waiting:
            state, mass = waiting.pop()
            gone = 0.0
            for chance, target in self._silent.get(state, ()):
                gone += chance
                if mass * chance > 1e-12:
                    waiting.append((target, mass * chance))
            if gone < 1.0:
                spread[state] = spread.get(state, 0.0) + mass
        return spread
