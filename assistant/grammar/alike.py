"""Which nodes of a network are alike: from them the same goes on, with the same probabilities.

What follows two calls of a rule is mostly alike; taking it for one keeps the expansion through the calls small.
"""

from __future__ import annotations

from math import exp

from assistant.grammar.network import Network, Onward

_Move = tuple[str, str, int]
"""What is done (a word eaten, a rule called, a loop gone to, an end), its name, and the class that it leads to."""


def alike(network: Network) -> list[int]:
    """For each node the first one that is like it."""
    onwards = [network.onward(node) for node in range(len(network.words))]
    classes = [0] * len(onwards)
    count = 0
    while True:
        known: dict[object, int] = {}
        classes = [
            known.setdefault((_moves(onward, classes), node in network.loops), len(known))
            for node, onward in enumerate(onwards)
        ]
        if len(known) == count:
            first: dict[int, int] = {}
            return [first.setdefault(one, node) for node, one in enumerate(classes)]
        count = len(known)


def _moves(onward: Onward, classes: list[int]) -> frozenset[tuple[_Move, float]]:
    chances: dict[_Move, float] = {}

    def add(move: _Move, cost: float) -> None:
        chances[move] = chances.get(move, 0.0) + exp(-cost)

    for word, arcs in onward.words.items():
        for arc in arcs:
            add(("word", word, classes[arc.target]), arc.cost)
    for call in onward.calls:
        add(("rule", call.rule, classes[call.target]), call.cost)
    for cost, loop in onward.loops:
        add(("loop", "", classes[loop]), cost)
    for cost, _ in onward.ends:
        add(("end", "", -1), cost)
    return frozenset((move, round(chance, 9)) for move, chance in chances.items())
