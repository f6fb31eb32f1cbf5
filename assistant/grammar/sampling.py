"""Random utterances by the grammar's weights, and the phrase list made of them."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice
from random import Random

from assistant.grammar.acceptor import Acceptor
from assistant.grammar.expansion import Expanded
from assistant.grammar.network import Network

_TRIES_PER_SENTENCE = 50
"""How many random utterances may be repeats for each that is wanted, before there are taken to be no more."""


def random_sentences(network: Network, root: str, seed: int) -> Iterator[str]:
    """Endless random utterances, with repeats; always the same for the same seed."""
    expanded, random = Expanded(network, root), Random(seed)
    while True:
        yield " ".join(_walked(expanded, random))


def distinct_sentences(network: Network, root: str, seed: int, n: int) -> tuple[str, ...]:
    """The first `n` different ones; fewer where the grammar seems to have no more."""
    tries = islice(random_sentences(network, root, seed), n * _TRIES_PER_SENTENCE)
    return tuple(islice(_without_repeats(tries), n))


def _without_repeats(sentences: Iterator[str]) -> Iterator[str]:
    seen: set[str] = set()
    for sentence in sentences:
        if sentence not in seen:
            seen.add(sentence)
            yield sentence


def _walked(expanded: Expanded, random: Random) -> Iterator[str]:
    state: int | None = 0
    while state is not None:
        word, state = _step(expanded, state, random.random())
        if word:
            yield word


def _step(expanded: Expanded, state: int, chance: float) -> tuple[str, int | None]:
    """The word and the next state that the chance (0 to 1) falls on; no state at the end."""
    local = expanded.local(state)
    spoken = zip(local.words, local.chances, local.targets, strict=True)
    moves = [*spoken, *(("", share, target) for share, target in local.silent)]
    for word, share, target in moves:
        chance -= share
        if chance < 0.0:
            return word, target
    if local.end or not moves:
        return "", None
    return moves[-1][0], moves[-1][2]


def word_pairs(acceptor: Acceptor) -> tuple[str, ...]:
    """Every two words that can stand side by side, as "one two", sorted; not those that only a wide loop joins.

    What comes next in such a loop has little to do with what went before: a recogniser backs off to single words there.
    """
    following: dict[int, set[str]] = {}
    arcs = [(source, word, target) for source, word, _, target in acceptor.arcs if word]
    for source, word, _ in arcs:
        following.setdefault(source, set()).add(word)
    return tuple(sorted({f"{word} {after}" for _, word, target in arcs for after in following.get(target, ())}))
