"""The word acceptor from which a recogniser listens: whole utterances only, deterministic, minimal, and weighted.

Every network path is followed through its calls into a finite automaton, which is made deterministic and minimal
without regard to weights (so it always ends, whatever loops the grammar has) and then weighed. A silent arc leads to
the beginning of each wide loop; apart from these no state has two arcs with the same word.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import log

from assistant.grammar.expansion import UNKNOWN, Expanded
from assistant.grammar.network import Network

Arc = tuple[int, str, float, int]


@dataclass(frozen=True, slots=True)
class Acceptor:
    """Arcs are (from, word, cost, to), costs negative natural logarithms; "" eats no word, "[unk]" any other word.

    States are numbered from 0; `finals` are those where an utterance may end, with the cost of ending there.
    """

    arcs: tuple[Arc, ...]
    start: int
    finals: Mapping[int, float]

    @property
    def state_count(self) -> int:
        """How many states there are."""
        return 1 + max(self.start, *self.finals, *(max(source, target) for source, _, _, target in self.arcs))

    def scaled(self, factor: float) -> Acceptor:
        """The same with every cost multiplied: above 1 the likely is made likelier, 0 makes all alike."""
        arcs = tuple((source, word, cost * factor, target) for source, word, cost, target in self.arcs)
        return Acceptor(arcs, self.start, {state: cost * factor for state, cost in self.finals.items()})

    def with_other_talk(self, entry_cost: float, word_cost: float) -> Acceptor:
        """Beside the sentences, utterances of nothing but "[unk]": the first at `entry_cost`, more at `word_cost`."""
        start, talk = self.state_count, self.state_count + 1
        first = [(start, word, cost, target) for source, word, cost, target in self.arcs if source == self.start]
        arcs = (*self.arcs, *first, (start, UNKNOWN, entry_cost, talk), (talk, UNKNOWN, word_cost, talk))
        finals = {**self.finals, talk: 0.0}
        if self.start in self.finals:
            finals[start] = self.finals[self.start]
        return Acceptor(arcs, start, finals)


def build_acceptor(network: Network, root: str) -> Acceptor:
    """The network's utterances; the costs that leave a state are those of a probability distribution."""
    # numpy comes in with these two: typing, which needs no acceptor, starts faster without.
    from assistant.grammar.minimal import minimal
    from assistant.grammar.weighing import weighed

    expanded = Expanded(network, root)
    table = minimal(expanded.deterministic())
    weights = weighed(expanded, table)
    arcs = tuple(
        (state, word, -log(weights.arcs[state][word]), target)
        for state, row in enumerate(table.arcs)
        for word, target in row.items()
    )
    return Acceptor(arcs, 0, {state: -log(end) for state, end in enumerate(weights.ends) if end})
