"""An utterance with what a second model finds of it: takes the utterance, the model and the sound as it heard it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from assistant.hearing.denoising import without_steady_noise
from assistant.hearing.heard_twice import is_clear
from assistant.hearing.rating.model import RatingModel, Sound
from assistant.hearing.rating.written import as_written, bare
from assistant.utterance import Hypothesis, Utterance

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# Of twenty hypotheses those further down are hardly ever right, and each takes some 8 ms.
MOST_RATED = 14
# What the model writes of wind and hiss, beside notes of music and other signs: of 29 pieces of noise that came to
# words of ours 7, and none of 1,442 commands and 858 pieces of talk (tuning set).
NO_SPEECH = ("", "you", "thank you")
# So many of the best rated are also rated with their numbers in figures.
BOTH_WAYS = 3


def heard(samples: NDArray[np.float32], model: RatingModel) -> Sound | None:
    """The sound as the model hears it best: in noise with the steady part of it taken out.

    Of 82 noisy tuning commands in which more than one meaning was heard, the right ones have a log likelihood of -39.3
    by the recogniser alone, of -29.2 by both models together, and of -26.8 with that.
    """
    return model.hear(samples if is_clear(samples) else without_steady_noise(samples))


def rated(utterance: Utterance, model: RatingModel, sound_of: Callable[[], Sound | None]) -> Utterance:
    """The utterance with its likeliest hypotheses rated; as it is where nothing was heard.

    The hypotheses are compared with their numbers in words, as they were said. Before what the model would write by
    itself, which is rather in figures, the best of them is put both ways; and what it writes with other marks and
    capitals is not ahead of one of them. Where it hears no speech, `freely` is without words.
    """
    if not utterance.best.words or (sound := sound_of()) is None:
        return utterance
    likeliest = utterance.hypotheses[:MOST_RATED]
    written = [as_written(hypothesis.words) for hypothesis in likeliest]
    rates = model.rate(sound, [in_words for in_words, *_ in written])
    best = sorted(zip(rates, written, strict=True), reverse=True)[:BOTH_WAYS]
    in_figures = model.rate(sound, [line for _, (_, *figures) in best for line in figures])
    text, log_likelihood = model.freely(sound)
    alike = bare(text) in {bare(line) for each in written for line in each}
    ahead = 0.0 if alike else log_likelihood - max([*rates, *in_figures])
    words = () if bare(text) in NO_SPEECH and not alike else tuple(text.split())
    hypotheses = [replace(h, rated=rate) for h, rate in zip(likeliest, rates, strict=True)]
    return replace(
        utterance,
        hypotheses=(*hypotheses, *utterance.hypotheses[MOST_RATED:]),
        freely=Hypothesis(words=words, log_likelihood=log_likelihood),
        freely_ahead=max(0.0, ahead),
    )
