"""Whether a word was clearly heard: how much of what the recogniser thought possible says the same."""

from __future__ import annotations

from math import exp, log

from assistant.meaning.understand import Reading
from assistant.utterance import Utterance

# A "done" that opens a valve is asked for again below this; one question costs two words (our choice, not measured).
CLEAR_SHARE = 0.9


def share_of(reading: Reading, utterance: Utterance) -> float:
    """The reading's part, 0 to 1, of the likelihood of all hypotheses; 1 for typed text."""
    if utterance.typed or not utterance.hypotheses:
        return 1.0
    best = max(h.log_likelihood for h in utterance.hypotheses)
    everything = best + log(sum(exp(h.log_likelihood - best) for h in utterance.hypotheses))
    return min(1.0, exp(reading.log_score - everything))


def clear(reading: Reading, utterance: Utterance) -> bool:
    """Whether the reading is clear enough to act on where a slip would be unsafe."""
    return share_of(reading, utterance) >= CLEAR_SHARE
