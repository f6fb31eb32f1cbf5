"""An utterance with what a second model finds of it: takes the utterance, the model and the sound as it heard it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from assistant.hearing.rating.model import RatingModel, Sound
from assistant.hearing.rating.written import as_written
from assistant.utterance import Hypothesis, Utterance

# Of twenty hypotheses those further down are hardly ever right, and each takes some 8 ms.
MOST_RATED = 14


def rated(utterance: Utterance, model: RatingModel, heard: Callable[[], Sound | None]) -> Utterance:
    """The utterance with its likeliest hypotheses rated; as it is where nothing was heard."""
    if not utterance.best.words or (sound := heard()) is None:
        return utterance
    likeliest = utterance.hypotheses[:MOST_RATED]
    written = [as_written(hypothesis.words) for hypothesis in likeliest]
    lines = list(dict.fromkeys(line for each in written for line in each))
    rates = dict(zip(lines, model.rate(sound, lines), strict=True))
    best = [max(rates[line] for line in each) for each in written]
    hypotheses = [replace(h, rated=rate) for h, rate in zip(likeliest, best, strict=True)]
    text, log_likelihood = model.freely(sound)
    freely = Hypothesis(words=tuple(text.split()), log_likelihood=log_likelihood)
    return replace(utterance, hypotheses=(*hypotheses, *utterance.hypotheses[MOST_RATED:]), freely=freely)
