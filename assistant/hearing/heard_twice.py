"""A second hearing of the same sound, with its steady noise taken out, where noise makes the first one doubtful.

It is other evidence: noise leads the recogniser astray in one, what the filter does to speech in the other, and what
was said is in both. docs/decision.md says how often the two together were right.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from assistant.hearing.voice_activity import speech_range_dbfs
from assistant.utterance import Hypothesis

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# Where speech stands so far above what is between the words, one hearing does.
CLEAR_DB = 30.0
# What one hearing lacks is at most as likely as the least likely that it has, less this (natural logarithm).
LACKING = 1.0


def is_clear(samples: NDArray[np.float32]) -> bool:
    """Whether the speech stands far above the noise between its words."""
    low, high = speech_range_dbfs(samples)
    return high - low > CLEAR_DB


def taken_together(first: Sequence[Hypothesis], second: Sequence[Hypothesis]) -> tuple[Hypothesis, ...]:
    """The hypotheses of both, best first, each with the mean of its log likelihoods, on the scale of the first.

    Each says in how many of the two it came first.
    """
    if not first or not second:
        return tuple(first)
    one, other = _by_words(first), _by_words(second)
    shift = first[0].log_likelihood - second[0].log_likelihood
    least_one, least_other = min(one.values()) - LACKING, min(other.values()) - LACKING
    merged = [
        Hypothesis(
            words=words,
            log_likelihood=(one.get(words, least_one) + other.get(words, least_other) + shift) / 2,
            first_in=(words == first[0].words) + (words == second[0].words),
        )
        for words in dict.fromkeys((*one, *other))
    ]
    return tuple(sorted(merged, key=lambda hypothesis: -hypothesis.log_likelihood))


def _by_words(heard: Sequence[Hypothesis]) -> dict[tuple[str, ...], float]:
    return {hypothesis.words: hypothesis.log_likelihood for hypothesis in heard}
