"""Ears whose hypotheses a second model has rated: takes a recogniser and the model, is a recogniser.

What is heard is the recogniser's own, in its own order; beside each of its likeliest sentences stands how likely the
other model finds it, and what that model hears by itself. What that is worth is for the dialogue to weigh.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from assistant.hearing.rating.model import RatingModel, Sound, model_folder
from assistant.hearing.rating.rated import heard, rated
from assistant.hearing.recogniser import Recogniser, Stream
from assistant.utterance import Hypothesis, Utterance

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


class RatedEars:
    """A recogniser with a second model behind it, which is loaded while the recogniser is already there to be used."""

    def __init__(
        self, ears: Recogniser, opened: Callable[[], RatingModel | None], beside: Executor | None = None
    ) -> None:
        # Before the other thread begins, which needs it too: numpy cannot be imported by two at the same time.
        import numpy  # noqa: F401

        self._ears = ears
        self._beside = beside or ThreadPoolExecutor(max_workers=1, thread_name_prefix="rating")
        self._opening = self._beside.submit(opened)

    @property
    def name(self) -> str:
        return self._ears.name

    @property
    def model(self) -> Any:
        """The recogniser's own, for other ears over the same; None where it has none."""
        return getattr(self._ears, "model", None)

    def hear(self, samples: NDArray[np.float32]) -> Utterance:
        utterance = self._ears.hear(samples)
        model = self._opening.result()
        return utterance if model is None else _rated(utterance, model, lambda: heard(samples, model))

    def stream(self) -> Stream:
        return _RatedStream(self._ears.stream(), self._opening, self._beside)

    def background(self, samples: NDArray[np.float32]) -> Hypothesis | None:
        return self._ears.background(samples)


class _RatedStream:
    """One utterance; the other model hears it at the end, while the recogniser finishes."""

    def __init__(self, stream: Stream, opening: Future[RatingModel | None], beside: Executor) -> None:
        self._stream = stream
        self._opening = opening
        self._beside = beside
        self._pieces: list[NDArray[np.float32]] = []

    @property
    def silent(self) -> bool:
        return self._stream.silent

    def accept(self, samples: NDArray[np.float32]) -> str:
        self._pieces.append(samples)
        return self._stream.accept(samples)

    def finish(self) -> Utterance:
        hearing: Future[Sound | None] = self._beside.submit(self._heard)
        utterance = self._stream.finish()
        model = self._opening.result()
        return utterance if model is None else _rated(utterance, model, hearing.result)

    def _heard(self) -> Sound | None:
        import numpy as np

        model = self._opening.result()
        return None if model is None or not self._pieces else heard(np.concatenate(self._pieces), model)


def _rated(utterance: Utterance, model: RatingModel, sound_of: Callable[[], Sound | None]) -> Utterance:
    """Rated; where the second model fails, as when memory is short, what was heard is not lost with it."""
    try:
        return rated(utterance, model, sound_of)
    except Exception:  # onnxruntime has an error class for each of its codes, none of them public
        return utterance


def rated_where_possible(ears: Recogniser) -> Recogniser:
    """The ears with the second model behind them, where it is installed; else as they are."""
    return ears if model_folder() is None else RatedEars(ears, shared_model)


@lru_cache(maxsize=1)
def shared_model() -> RatingModel | None:
    """The installed model, loaded once for all ears; None where there is none, or where it is spoilt."""
    folder = model_folder()
    try:
        return None if folder is None else RatingModel.opened(folder)
    except (OSError, ValueError):
        return None
