"""Run as a program of its own: a word acceptor as JSON on standard input becomes a recogniser's Gr.fst.

Separate because kaldifst and vosk both carry OpenFst and hang in one process. Usage: graph_compiler.py GR_FST; takes
{"arcs": [[from, word number, cost, to], ...], "start": n, "finals": [[state, cost], ...]}; prints states and arcs.
"""

from __future__ import annotations

import json
import sys
from typing import Any

MOST_STATES = 400_000


def compiled(acceptor: dict[str, Any]) -> Any:
    """The acceptor without epsilons, deterministic, minimal (weights pushed to the start), arcs sorted by word.

    The recogniser composes it on the fly, which needs the sorting and is fast with the rest. Raises ValueError or
    RuntimeError when determinising does not end within MOST_STATES (loops of equal words with unequal costs).
    """
    import kaldifst

    graph = _drawn(kaldifst, acceptor)
    # With the limit reached it raises, or returns true for "stopped early".
    if kaldifst.determinize_star(graph, max_states=MOST_STATES):
        raise ValueError(f"the grammar's graph has no end below {MOST_STATES} states")
    if graph.num_states == 0:
        raise ValueError("the grammar has no sentence")
    kaldifst.minimize(graph)
    kaldifst.arcsort(graph, sort_type="ilabel")
    return graph


def _drawn(kaldifst: Any, acceptor: dict[str, Any]) -> Any:
    graph = kaldifst.StdVectorFst()
    states = 1 + max(max(arc[0], arc[3]) for arc in acceptor["arcs"])
    for _ in range(states):
        graph.add_state()
    graph.start = acceptor["start"]
    for origin, number, cost, target in acceptor["arcs"]:
        graph.add_arc(origin, kaldifst.StdArc(number, number, cost, target))
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
