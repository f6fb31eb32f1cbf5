"""The main ears: vosk over the grammar's own sentence graph. Takes samples, gives the n best sentences of the grammar.

Log likelihoods are vosk's "confidence" with alternatives on: minus the path's acoustic cost and 0.9 of its graph cost
(measured), natural logarithm, not normalised: it grows with the audio, only differences within an utterance count.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assistant.hearing.breath import framed, heard_whole
from assistant.hearing.errors import HearingError, UnknownWordsError
from assistant.hearing.graph import BACKGROUND, derived_model
from assistant.hearing.heard_twice import is_clear, taken_together
from assistant.hearing.memory import give_back_memory
from assistant.hearing.noted import noted
from assistant.hearing.other_talk import TALK_COST
from assistant.hearing.pcm import as_pcm
from assistant.hearing.recogniser import HYPOTHESES, SpokenGrammar, distinct
from assistant.hearing.second_hearing import SecondHearing
from assistant.hearing.wav import SAMPLE_RATE_HZ
from assistant.utterance import Hypothesis, Utterance

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# Asked for more than wanted, because the same words come back with different pauses.
ALTERNATIVES = 50
# An ear keeps the states of the graph that it has been in, and grows by 17 MB in half an hour of commands. So it is
# exchanged for a fresh one after so much sound, which takes 20 ms, and 0.1 s more of the next sentence's decoding.
FRESH_AFTER_S = 60.0


class VoskRecogniser:
    """Vosk with a sentence graph; `base` is the model folder it was derived from, for free decoding."""

    name = "vosk"

    # Whether a note's words are decoded anew with the whole vocabulary, which takes two seconds and 150 MB more while
    # it lasts. Off: they are the words of the common talk that stands beside the grammar, in the graph itself.
    free_notes = False

    def __init__(self, model: Any, base: Path) -> None:
        self._model = model
        self._base = base
        self._spare: list[_Ears] = []
        self._behind_words: str = ""

    @classmethod
    def opened(
        cls,
        grammar: SpokenGrammar,
        base: Path,
        *,
        talk_cost: float = TALK_COST,
        notice: Callable[[str], None] = lambda line: None,
    ) -> VoskRecogniser:
        """Ready to hear the grammar, other talk at that cost; raises UnknownWordsError, HearingError."""
        folder = derived_model(grammar, base, talk_cost)
        model = loaded(folder)
        places = grammar.word_places()
        if missing := [word for word in places if model.vosk_model_find_word(word) < 0]:
            raise UnknownWordsError("vosk", missing, places)
        ears = cls(model, base)
        ears._behind_words = (folder / BACKGROUND).read_text(encoding="utf-8")
        return ears

    @property
    def model(self) -> Any:
        """The loaded vosk model with the grammar's graph, for other ears over the same."""
        return self._model

    def hear(self, samples: NDArray[np.float32]) -> Utterance:
        return heard_whole(samples, lambda: self._stream(follows=False), framed)

    def stream(self) -> VoskStream:
        return self._stream(follows=True)

    def _stream(self, *, follows: bool) -> VoskStream:
        """`follows`: a second hearing goes on beside the first, for the end not to wait for it."""
        if not self._spare:
            give_back_memory()
        ears = self._spare.pop() if self._spare else self._ears()
        freely = self.background if self.free_notes else None
        second = SecondHearing(partial(self._second_ear, ears))
        return VoskStream(ears, second, follows=follows, give_back=self._given_back, freely=freely)

    def _second_ear(self, ears: _Ears) -> Any:
        if ears.second is None:
            ears.second = self._ear(self._model)
        ears.second.FinalResult()  # forgets what it began to hear of an utterance that was clear after all
        return ears.second

    def _given_back(self, ears: _Ears) -> None:
        if ears.heard_s < FRESH_AFTER_S:
            self._spare.append(ears)

    def background(self, samples: NDArray[np.float32]) -> Hypothesis | None:
        """The best free decoding with the whole vocabulary.

        Its model, of 150 MB, is loaded for the call and let go of afterwards: a note is rare, and memory is short.
        """
        ear = self._ear(loaded(self._base))
        ear.AcceptWaveform(as_pcm(samples))
        heard = _hypotheses(ear.FinalResult())
        return heard[0] if heard else None

    def _ears(self) -> _Ears:
        """One ear for the grammar, and one for the commonest words in any order, which share the model in memory."""
        import vosk

        if not self._behind_words:
            return _Ears(self._ear(self._model), None)
        behind = vosk.KaldiRecognizer(self._model, SAMPLE_RATE_HZ, self._behind_words)
        behind.SetMaxAlternatives(1)
        return _Ears(self._ear(self._model), behind)

    @staticmethod
    def _ear(model: Any) -> Any:
        import vosk

        ear = vosk.KaldiRecognizer(model, SAMPLE_RATE_HZ)
        ear.SetMaxAlternatives(ALTERNATIVES)
        return ear


@dataclass(slots=True)
class _Ears:
    """The grammar's vosk recogniser, the background's, the one for noise, and how much they have heard so far."""

    ear: Any
    behind: Any
    second: Any = None
    heard_s: float = 0.0


class VoskStream:
    """One utterance through two vosk recognisers, given back when finished."""

    def __init__(
        self,
        ears: _Ears,
        second: SecondHearing,
        *,
        follows: bool,
        give_back: Callable[[_Ears], None],
        freely: Callable[[NDArray[np.float32]], Hypothesis | None] | None,
    ) -> None:
        self._ears = ears
        self._ear = ears.ear
        self._behind = ears.behind
        self._second = second
        self._follows = follows
        self._give_back = give_back
        self._freely = freely
        self._pieces: list[NDArray[np.float32]] = []
        self._samples = 0
        self.silent = False

    def accept(self, samples: NDArray[np.float32]) -> str:
        self._take(samples)
        self._samples += len(samples)
        self._pieces.append(samples)
        if self._follows:
            self._second.follow(self._pieces, self._samples)
        so_far: str = json.loads(self._ear.PartialResult())["partial"]
        return so_far

    def finish(self) -> Utterance:
        heard = self._heard()
        behind = _likeliest(self._behind.FinalResult()) if self._behind is not None else None
        self._ears.heard_s += self._samples / SAMPLE_RATE_HZ
        self._give_back(self._ears)
        utterance = Utterance(
            hypotheses=heard if self._samples else (),
            background=behind if self._samples else None,
            seconds=self._samples / SAMPLE_RATE_HZ,
            engine=VoskRecogniser.name,
        )
        return utterance if self._freely is None else noted(utterance, self._decoded_freely)

    def _heard(self) -> tuple[Hypothesis, ...]:
        """The hypotheses; where it is noisy and there is something to doubt, those of a second hearing too."""
        import numpy as np

        heard = _hypotheses(self._ear.FinalResult())
        if len(heard) < 2 or is_clear(whole := np.concatenate(self._pieces)):
            return heard
        return taken_together(heard, _hypotheses(self._second.finish(whole)))[:HYPOTHESES]

    def _decoded_freely(self) -> Hypothesis | None:
        import numpy as np

        return None if self._freely is None else self._freely(np.concatenate(self._pieces))

    def _take(self, samples: NDArray[np.float32]) -> None:
        # Vosk's own endpoint, which graph.py sets so short that it tells of silence alone; the utterance goes on.
        pcm = as_pcm(samples, at=self._samples)
        self.silent = bool(self._ear.AcceptWaveform(pcm))
        if self._behind is not None:
            self._behind.AcceptWaveform(pcm)


def loaded(folder: Path) -> Any:
    """The vosk model in a folder, on one core, silent. Raises HearingError."""
    for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ.setdefault(variable, "1")
    import vosk

    vosk.SetLogLevel(-2)
    try:
        return vosk.Model(str(folder))
    except Exception as error:  # vosk raises nothing more exact
        raise HearingError(f"vosk cannot load {folder}: {error}") from None


def _likeliest(result: str) -> Hypothesis | None:
    """The first alternative, silence too: how likely that is says how much there was to hear."""
    rivals = json.loads(result).get("alternatives", [])
    return _hypothesis(rivals[0]) if rivals else None


def _hypotheses(result: str) -> tuple[Hypothesis, ...]:
    rivals = json.loads(result).get("alternatives", [])
    return distinct(map(_hypothesis, rivals))[:HYPOTHESES]


def _hypothesis(rival: dict[str, Any]) -> Hypothesis:
    return Hypothesis(words=tuple(rival["text"].split()), log_likelihood=float(rival["confidence"]))
