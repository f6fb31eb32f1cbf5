"""Run as a program of its own: a word acceptor as JSON on standard input becomes a recogniser's Gr.fst.

Separate because kaldifst and vosk both carry OpenFst and hang in one process. Usage: graph_compiler.py GR_FST; takes
{"arcs": [[from, number heard, number written, cost, to], ...], "start": n, "finals": [[state, cost], ...]}; prints
states and arcs.
"""

from __future__ import annotations

import json
import sys
from typing import Any


def compiled(acceptor: dict[str, Any]) -> Any:
    """The acceptor without epsilons and dead ends, its arcs sorted by word, which the recogniser's composition needs.

    It stays as it comes otherwise: the grammar's acceptor is deterministic and minimal already, and to determinise it
    again with the loop of unknown words beside it would never end (equal words, unequal costs, no end in sight).
    """
    import kaldifst

    graph = _drawn(kaldifst, acceptor)
    kaldifst.rmepsilon(graph)
    kaldifst.connect(graph)
    if graph.num_states == 0:
        raise ValueError("the grammar has no sentence")
    kaldifst.arcsort(graph, sort_type="ilabel")
    return graph


def _drawn(kaldifst: Any, acceptor: dict[str, Any]) -> Any:
    graph = kaldifst.StdVectorFst()
    states = 1 + max(max(arc[0], arc[4]) for arc in acceptor["arcs"])
    for _ in range(states):
        graph.add_state()
    graph.start = acceptor["start"]
    for origin, heard, written, cost, target in acceptor["arcs"]:
        graph.add_arc(origin, kaldifst.StdArc(heard, written, cost, target))
    for state, cost in acceptor["finals"]:
        graph.set_final(state, cost)
    return graph


def main() -> None:
    graph = compiled(json.load(sys.stdin))
    graph.write(sys.argv[1])
    arcs = sum(graph.num_arcs(state) for state in range(graph.num_states))
    json.dump({"states": graph.num_states, "arcs": arcs}, sys.stdout)


if __name__ == "__main__":
    main()
