"""Puts other people's talk beside the grammar: a loop of common English words, so that talk is heard as talk.

Takes an acceptor with "[unk]" for "any words" and gives one where these are spelled out, with a way through the loop
for whole utterances that are none of the grammar's. Without it the nearest sentence of the grammar would be taken.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from assistant.hearing.recogniser import UNKNOWN, AcceptorLike

Arc = tuple[int, str, float, int]

COMMON_WORDS = 8_000
# Natural logarithms, tuned on the tuning recordings of other talk against synthetic commands, clean and at 5 dB noise:
# dearer talk takes more of it for commands, cheaper talk swallows commands in noise.
TALK_COST = 4.0
MORE_TALK_COST = 0.7
# While a question is open: somebody was asked, and short answers drown in talk.
TALK_COST_WHEN_ASKED = 7.0
UNKNOWN_COST = 8.0
# So many of the commonest words, in any order, are what the sound is held against. 8,000 tell talk from commands no
# better on some 400 tuning recordings, and took 130 MB more.
BACKGROUND_WORDS = 250


@dataclass(frozen=True, slots=True)
class Spread:
    """An acceptor whose "[unk]" arcs became arcs of common words."""

    arcs: tuple[Arc, ...]
    start: int
    finals: Mapping[int, float]


def common_words(count: int = COMMON_WORDS) -> dict[str, float]:
    """The commonest words of everyday English talk and their costs (-ln probability).

    From the word frequencies of pocketsphinx's own language model, which comes with its wheel.
    """
    import pocketsphinx

    log_base = pocketsphinx.LogMath()
    path = pocketsphinx.get_model_path("en-us/en-us.lm.bin")
    model = pocketsphinx.NGramModel(pocketsphinx.Config(loglevel="FATAL"), log_base, path)
    listed = pocketsphinx.get_model_path("en-us/cmudict-en-us.dict")
    with open(listed, encoding="utf-8") as dictionary:
        spelled = {line.split(" ", 1)[0] for line in dictionary}
    words = sorted(word for word in spelled if word.replace("'", "").isalpha())
    costs = {word: -log_base.log_to_ln(model.prob([word])) for word in words}
    return {word: costs[word] for word in sorted(words, key=costs.__getitem__)[:count]}


def spread(acceptor: AcceptorLike, talk: Mapping[str, float], talk_cost: float = TALK_COST) -> Spread:
    """The acceptor with `talk` (word → cost) for "[unk]", and beside it utterances of nothing but talk."""
    words = [*talk.items(), (UNKNOWN, UNKNOWN_COST)]
    arcs = [*_spelled_out(acceptor.arcs, words)]
    start = 1 + max(acceptor.start, *acceptor.finals, *(max(arc[0], arc[3]) for arc in acceptor.arcs))
    talking = start + 1
    first = [(start, word, cost, target) for origin, word, cost, target in arcs if origin == acceptor.start]
    loop = [
        arc
        for word, cost in words
        for arc in ((start, word, talk_cost + cost, talking), (talking, word, MORE_TALK_COST + cost, talking))
    ]
    finals = {**acceptor.finals, talking: 0.0}
    return Spread(arcs=(*arcs, *first, *loop), start=start, finals=finals)


def _spelled_out(arcs: Iterable[Arc], words: Sequence[tuple[str, float]]) -> Iterable[Arc]:
    for origin, word, cost, target in arcs:
        if word == UNKNOWN:
            yield from ((origin, spelled, cost + dear, target) for spelled, dear in words)
        else:
            yield (origin, word, cost, target)
