"""The one door to the ears: what every recogniser can do, and how one is opened by name.

Takes float32 mono samples at 16 kHz, gives utterances. The engines are loaded when opened, not on import.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from assistant.hearing.errors import HearingError, ModelMissingError
from assistant.utterance import Hypothesis, Utterance

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

HYPOTHESES = 20
UNKNOWN = "[unk]"
ENGINES = ("vosk", "pocketsphinx")


class AcceptorLike(Protocol):
    """A weighted word acceptor: arcs (from state, word, cost, to state); "" is epsilon, costs are -ln probability."""

    @property
    def arcs(self) -> tuple[tuple[int, str, float, int], ...]: ...
    @property
    def start(self) -> int: ...
    @property
    def finals(self) -> Mapping[int, float]: ...


class SpokenGrammar(Protocol):
    """What the ears need of a grammar; `digest` changes when what can be said does."""

    @property
    def digest(self) -> str: ...
    def acceptor(self) -> AcceptorLike: ...
    def words(self) -> Iterable[str]: ...
    def word_places(self) -> Mapping[str, tuple[str, int]]: ...
    def sounds(self) -> Mapping[str, tuple[str, ...]]: ...


class Stream(Protocol):
    """One utterance while it is being spoken. `silent`: to the engine itself the last word is over, if it can tell."""

    @property
    def silent(self) -> bool: ...

    def accept(self, samples: Samples) -> str:
        """The words so far, after these further samples; may still change, "" before the first word."""
        ...

    def finish(self) -> Utterance:
        """The utterance, of all the samples accepted; the stream is closed with it."""
        ...


class Recogniser(Protocol):
    """Hears one utterance at a time; log likelihoods are natural logarithms, on the engine's own scale."""

    @property
    def name(self) -> str: ...

    def hear(self, samples: Samples) -> Utterance:
        """The utterance in these samples: up to twenty distinct hypotheses, best first; none in silence."""
        ...

    def stream(self) -> Stream:
        """An open ear for one utterance whose samples arrive bit by bit."""
        ...

    def background(self, samples: Samples) -> Hypothesis | None:
        """What an unrestricted decoding hears in these samples; None where the engine has none."""
        ...


def distinct(heard: Iterable[Hypothesis]) -> tuple[Hypothesis, ...]:
    """Best first, each wording once with its best likelihood; nothing at all where the best is silence."""
    best: dict[tuple[str, ...], Hypothesis] = {}
    for hypothesis in sorted(heard, key=lambda rival: rival.log_likelihood, reverse=True):
        best.setdefault(hypothesis.words, hypothesis)
    ranked = tuple(best.values())
    return ranked if ranked and ranked[0].words else ()


def open_recogniser(
    engine: str | None,
    grammar: SpokenGrammar,
    *,
    model: Path | None = None,
    pronunciations: str = "",
    notice: Callable[[str], None] = lambda line: None,
) -> Recogniser:
    """The recogniser named ("vosk", "pocketsphinx"), ready to hear; None: vosk, or pocketsphinx where it has no model.

    `model` is a vosk model folder, `pronunciations` the text of the pronunciation file for pocketsphinx; `notice` takes
    lines for the user. Raises HearingError for an unknown engine or a model that cannot be had (engine "vosk"), and
    UnknownWordsError for a word of the grammar that the engine lacks.
    """
    if engine not in (None, *ENGINES):
        raise HearingError(f"there is no recogniser called {engine!r}; there are {' and '.join(ENGINES)}")
    if engine != "pocketsphinx":
        try:
            return _open_vosk(grammar, model, notice)
        except ModelMissingError as missing:
            if engine == "vosk":
                raise
            notice(f"{missing} Using pocketsphinx, which hears less accurately: check each value read back.")
    from assistant.hearing.pocketsphinx_ears import PocketsphinxRecogniser

    return PocketsphinxRecogniser.opened(grammar, pronunciations)


def _open_vosk(grammar: SpokenGrammar, model: Path | None, notice: Callable[[str], None]) -> Recogniser:
    from assistant.hearing.find_model import vosk_model
    from assistant.hearing.rating.ears import rated_where_possible
    from assistant.hearing.vosk_ears import VoskRecogniser

    return rated_where_possible(VoskRecogniser.opened(grammar, vosk_model(model, notice=notice), notice=notice))


def make_ready_for_answers(engine: str, answering: SpokenGrammar, *, model: Path | None = None) -> None:
    """Builds the graph that `open_for_answers` needs, so that a first question does not wait for it.

    It takes seconds the first time and nothing after it. Raises HearingError.
    """
    if engine == "vosk":
        from assistant.hearing.find_model import vosk_model
        from assistant.hearing.graph import derived_model
        from assistant.hearing.other_talk import TALK_COST_WHEN_ASKED

        derived_model(answering, vosk_model(model), TALK_COST_WHEN_ASKED)


def open_for_answers(engine: str, answering: SpokenGrammar, *, model: Path | None = None) -> Recogniser | None:
    """Ears that favour an answer, for the engine of those already open; None where it has none of its own.

    `answering` is the grammar from its rule for answers. Raises HearingError.
    """
    if engine != "vosk":
        return None
    from assistant.hearing.find_model import vosk_model
    from assistant.hearing.other_talk import TALK_COST_WHEN_ASKED
    from assistant.hearing.rating.ears import rated_where_possible
    from assistant.hearing.vosk_ears import VoskRecogniser

    return rated_where_possible(VoskRecogniser.opened(answering, vosk_model(model), talk_cost=TALK_COST_WHEN_ASKED))
