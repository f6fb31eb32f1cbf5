"""Probabilities for a deterministic automaton, so that it comes closest to the grammar it was made from.

The grammar's automaton and the deterministic one are walked together; an arc's probability is the number of times the
grammar's random utterances are expected to take it, over the visits of its state. Of all weights that this automaton
can carry these have the smallest Kullback-Leibler divergence from the grammar's own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.grammar.expansion import SILENT, Expanded, Table

_Floats = NDArray[np.float64]
LEFT_OVER = 1e-4
"""Probability of utterances so long that they are left out of the count."""
MOST_ROUNDS = 2000
LEAST = 1e-9
"""Expected visits of an arc that only left-out utterances take: it stays possible."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """For each state the probability of each of its arcs, and of ending there; they sum to 1."""

    arcs: list[dict[str, float]]
    ends: list[float]


def weighed(expanded: Expanded, table: Table) -> Weighed:
    """The table's probabilities; both must accept the same utterances."""
    walk = _Walk(expanded, table)
    walk.go()
    arc_counts, end_counts = walk.expected_counts()
    arcs: list[dict[str, float]] = []
    ends: list[float] = []
    for state, row in enumerate(table.arcs):
        visits = {word: max(LEAST, arc_counts[walk.arc_number[state][word]]) for word in row}
        end = max(LEAST, end_counts[state]) if table.ends[state] else 0.0
        total = sum(visits.values()) + end
        arcs.append({word: one / total for word, one in visits.items()})
        ends.append(end / total)
    return Weighed(arcs, ends)


class _Walk:
    """Pairs of a deterministic state and one of the grammar's, and the moves between the pairs.

    There are a million moves in a grammar like ours, so they are gathered a pair at a time, in few calls. A pair is one
    number, `state * inner_states + inner`.
    """

    def __init__(self, expanded: Expanded, table: Table) -> None:
        self._expanded = expanded
        self._table = table
        self.arc_number: list[dict[str, int]] = []
        self._arc_count = 0
        for row in table.arcs:
            self.arc_number.append({word: self._arc_count + i for i, word in enumerate(row)})
            self._arc_count += len(row)
        self._inner_states = expanded.state_count
        self._pairs: list[int] = [0]
        self._moves: list[int] = []
        self._targets: list[int] = []
        self._chances: list[float] = []
        self._taken: list[int] = []
        self._ends: list[float] = []

    def go(self) -> None:
        """Meet every pair that an utterance can pass."""
        number, met, many = {0: 0}, 0, self._inner_states
        while met < len(self._pairs):
            state, inner = divmod(self._pairs[met], many)
            local = self._expanded.local(inner)
            row, arcs = self._table.arcs[state], self.arc_number[state]
            pairs = [row[word] * many + target for word, target in zip(local.words, local.targets, strict=True)]
            self._taken += [arcs[word] for word in local.words]
            self._chances += local.chances
            for chance, target in local.silent:
                entered = self._expanded.entered_silently(target)
                pairs.append((row[SILENT] if entered else state) * many + target)
                self._taken.append(arcs[SILENT] if entered else self._arc_count)
                self._chances.append(chance)
            for pair in pairs:
                if pair not in number:
                    number[pair] = len(self._pairs)
                    self._pairs.append(pair)
            self._targets += [number[pair] for pair in pairs]
            self._moves.append(len(pairs))
            self._ends.append(local.end)
            met += 1

    def expected_counts(self) -> tuple[_Floats, _Floats]:
        """How often a random utterance takes each arc, and how often it ends in each state."""
        sources, targets = np.repeat(np.arange(len(self._pairs)), self._moves), np.array(self._targets)
        chances = np.array(self._chances)
        visits = self._expected_visits(sources, targets, chances)
        taken = _summed(np.array(self._taken), visits[sources] * chances, self._arc_count + 1)
        states = np.array(self._pairs) // self._inner_states
        ended = _summed(states, visits * np.array(self._ends), len(self._table.arcs))
        return taken, ended

    def _expected_visits(self, sources: NDArray[np.int64], targets: NDArray[np.int64], chances: _Floats) -> _Floats:
        now: _Floats = np.zeros(len(self._pairs))
        now[0] = 1.0
        visits = now.copy()
        for _ in range(MOST_ROUNDS):
            now = _summed(targets, now[sources] * chances, len(now))
            visits += now
            if now.sum() < LEFT_OVER:
                break
        return visits


def _summed(places: NDArray[np.int64], amounts: _Floats, length: int) -> _Floats:
    return np.bincount(places, weights=amounts, minlength=length).astype(np.float64)
