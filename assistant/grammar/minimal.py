"""The smallest deterministic automaton of the same language (Moore's refinement, on numpy arrays).

States start as ending or not, and are told apart as long as their arcs differ by word or by the class they lead to.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from assistant.grammar.expansion import Table

_Numbers = NDArray[np.uint64]
_ODD_1, _ODD_2, _ODD_3 = (np.uint64(n) for n in (0x9E3779B97F4A7C15, 0xBF58476D1CE4E5B9, 0x94D049BB133111EB))
"""Multipliers of the splitmix64 generator (Steele, Lea and Flood 2014), used here to mix bits."""


def minimal(table: Table) -> Table:
    """The table with equivalent states made one; state 0 stays the first."""
    label = {word: i for i, word in enumerate(sorted({word for arcs in table.arcs for word in arcs}))}
    count = np.array([len(arcs) for arcs in table.arcs], dtype=np.int64)
    labels = np.array([label[word] for arcs in table.arcs for word in arcs], dtype=np.uint64)
    targets = np.array([target for arcs in table.arcs for target in arcs.values()], dtype=np.int64)
    classes = np.array(table.ends, dtype=np.int64)
    classes = np.unique(classes, return_inverse=True)[1]
    while True:
        refined = _refined(classes, count, labels, targets)
        if refined.max() == classes.max():
            return _quotient(table, [int(one) for one in classes])
        classes = refined


def _refined(
    classes: NDArray[np.int64], count: NDArray[np.int64], labels: _Numbers, targets: NDArray[np.int64]
) -> NDArray[np.int64]:
    arcs = _mixed(labels * _ODD_1 + _mixed(classes[targets].astype(np.uint64) + np.uint64(1)))
    total = np.zeros(len(count), dtype=np.uint64)
    leaving = count > 0
    if arcs.size:
        starts = np.concatenate(([0], np.cumsum(count)[:-1]))
        total[leaving] = np.add.reduceat(arcs, starts[leaving])
    mark = _mixed(total + _mixed(classes.astype(np.uint64) * _ODD_2))
    return np.unique(mark, return_inverse=True)[1].astype(np.int64)


def _mixed(numbers: _Numbers) -> _Numbers:
    numbers = (numbers ^ (numbers >> np.uint64(30))) * _ODD_2
    numbers = (numbers ^ (numbers >> np.uint64(27))) * _ODD_3
    return numbers ^ (numbers >> np.uint64(31))


def _quotient(table: Table, classes: list[int]) -> Table:
    """One state for each class, numbered as met from state 0."""
    number: dict[int, int] = {classes[0]: 0}
    members = [0]
    arcs: list[dict[str, int]] = []
    while len(arcs) < len(members):
        row: dict[str, int] = {}
        for word, target in table.arcs[members[len(arcs)]].items():
            found = number.setdefault(classes[target], len(members))
            if found == len(members):
                members.append(target)
            row[word] = found
        arcs.append(row)
    return Table(arcs, [table.ends[member] for member in members])
