"""Ears for an answer: the same grammar, in which a bare number, yes and no are far likelier, while a question is open.

`AnsweringGrammar` is what they listen with; `AttentiveEars` are two pairs of ears that take turns.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from hashlib import sha256
from typing import TYPE_CHECKING, Protocol

from assistant.hearing.recogniser import AcceptorLike, Recogniser, SpokenGrammar, Stream
from assistant.utterance import Hypothesis, Utterance

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

RULE = "answering"


class _Ruled(SpokenGrammar, Protocol):
    def acceptor(self, *, rule: str | None = None) -> AcceptorLike: ...


class AnsweringGrammar:
    """The grammar from its rule for answers."""

    def __init__(self, grammar: _Ruled) -> None:
        self._grammar = grammar

    @property
    def digest(self) -> str:
        return sha256(f"{self._grammar.digest} {RULE}".encode()).hexdigest()

    def acceptor(self) -> AcceptorLike:
        return self._grammar.acceptor(rule=RULE)

    def words(self) -> Iterable[str]:
        return self._grammar.words()

    def word_places(self) -> Mapping[str, tuple[str, int]]:
        return self._grammar.word_places()

    def sounds(self) -> Mapping[str, tuple[str, ...]]:
        return self._grammar.sounds()


class AttentiveEars:
    """Ears that listen for an answer while `awaits` says that a question is open. `expecting` is opened then."""

    def __init__(self, ears: Recogniser, expecting: Callable[[], Recogniser], awaits: Callable[[], bool]) -> None:
        self._ears = ears
        self._open_expecting = expecting
        self._expecting: Recogniser | None = None
        self._awaits = awaits

    @property
    def name(self) -> str:
        return self._ears.name

    def hear(self, samples: NDArray[np.float32]) -> Utterance:
        return self._now().hear(samples)

    def stream(self) -> Stream:
        return self._now().stream()

    def background(self, samples: NDArray[np.float32]) -> Hypothesis | None:
        return self._ears.background(samples)

    def _now(self) -> Recogniser:
        if not self._awaits():
            return self._ears
        self._expecting = self._expecting or self._open_expecting()
        return self._expecting
