"""The call word: takes a grammar and gives one whose utterances may begin with it, then tells those that did.

The call word stands in the recogniser's own graph, so that a command in the same breath is heard with it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from math import log

from assistant.hearing.recogniser import AcceptorLike, SpokenGrammar
from assistant.utterance import Hypothesis, Utterance

# As likely called as not: talk that was not meant is told apart by the words, not by this.
CALLED_COST = log(2.0)
ALONE_COST = log(4.0)
PLACE = ("the setting call_word", 1)


@dataclass(frozen=True, slots=True)
class _Acceptor:
    arcs: tuple[tuple[int, str, float, int], ...]
    start: int
    finals: Mapping[int, float]


class CalledGrammar:
    """The grammar with the call word before any utterance, or alone; what is heard without it is still heard."""

    def __init__(self, grammar: SpokenGrammar, call_word: Sequence[str]) -> None:
        self._grammar = grammar
        self._call_word = tuple(call_word)

    @property
    def digest(self) -> str:
        return sha256(f"{self._grammar.digest} {self._call_word}".encode()).hexdigest()

    def acceptor(self) -> AcceptorLike:
        """The grammar's acceptor with a new start, from which its first words or the call word lead on."""
        inner = self._grammar.acceptor()
        free = 1 + max(inner.start, *inner.finals, *(max(arc[0], arc[3]) for arc in inner.arcs))
        firsts = [arc for arc in inner.arcs if arc[0] == inner.start]
        start, called = free, free + len(self._call_word)
        way = zip(range(start, called), self._call_word, range(start + 1, called + 1), strict=True)
        arcs = (
            *inner.arcs,
            *((start, word, cost + CALLED_COST, target) for _, word, cost, target in firsts),
            *((source, word, CALLED_COST if source == start else 0.0, target) for source, word, target in way),
            *((called, word, cost, target) for _, word, cost, target in firsts),
        )
        return _Acceptor(arcs, start, {**inner.finals, called: ALONE_COST})

    def words(self) -> Iterable[str]:
        return sorted({*self._grammar.words(), *self._call_word})

    def word_places(self) -> Mapping[str, tuple[str, int]]:
        return {**dict.fromkeys(self._call_word, PLACE), **self._grammar.word_places()}

    def sounds(self) -> Mapping[str, tuple[str, ...]]:
        """The grammar's, but for what the call word says itself: that stands for nothing else."""
        kept = {word: tuple(set(others).difference(self._call_word)) for word, others in self._grammar.sounds().items()}
        return {word: others for word, others in kept.items() if others}


def called(utterance: Utterance, call_word: Sequence[str]) -> Utterance | None:
    """The utterance without the call word that it began with; None where its best hypothesis did not begin so.

    Rival hypotheses that did not begin with it are left out; said alone, it leaves no hypotheses.
    """
    count, wanted = len(call_word), tuple(call_word)
    if utterance.best.words[:count] != wanted:
        return None
    meant = [each for each in utterance.hypotheses if each.words[:count] == wanted]
    rest = (replace(each, words=each.words[count:]) for each in meant)
    return replace(utterance, hypotheses=tuple(each for each in rest if each.words) if _said_more(meant, count) else ())


def _said_more(meant: Sequence[Hypothesis], count: int) -> bool:
    return len(meant[0].words) > count
