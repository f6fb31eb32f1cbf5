"""Hears a whole recording as one utterance: nothing in silence and steady noise, a very long one piece by piece."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from assistant.hearing.recogniser import Stream
from assistant.hearing.voice_activity import FRAME, may_hold_speech, measured
from assistant.hearing.wav import SAMPLE_RATE_HZ
from assistant.utterance import Hypothesis, Utterance

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

CHUNK = SAMPLE_RATE_HZ
# Nobody speaks a minute in one breath; longer recordings are cut in their quietest place, to bound time and memory.
LONGEST_PIECE = 60 * SAMPLE_RATE_HZ
SHORTEST_PIECE = 30 * SAMPLE_RATE_HZ


def heard_whole(samples: NDArray[np.float32], stream: Callable[[], Stream]) -> Utterance:
    """One utterance of all the samples; of more than a minute, one hypothesis: its pieces' best words in order."""
    heard = [_heard(piece, stream) for piece in pieces(samples)]
    if len(heard) == 1:
        return heard[0]
    best = [piece.best for piece in heard if piece.hypotheses]
    words = tuple(word for hypothesis in best for word in hypothesis.words)
    joined = Hypothesis(words=words, log_likelihood=sum(hypothesis.log_likelihood for hypothesis in best))
    return Utterance(hypotheses=(joined,) if words else (), seconds=len(samples) / SAMPLE_RATE_HZ)


def pieces(samples: NDArray[np.float32]) -> Iterator[NDArray[np.float32]]:
    """The samples in order, in pieces of at most a minute; one piece, which may be empty, for a short recording."""
    while len(samples) > LONGEST_PIECE:
        energies_dbfs, _ = measured(samples[SHORTEST_PIECE:LONGEST_PIECE])
        cut = SHORTEST_PIECE + int(energies_dbfs.argmin()) * FRAME
        yield samples[:cut]
        samples = samples[cut:]
    yield samples


def _heard(samples: NDArray[np.float32], stream: Callable[[], Stream]) -> Utterance:
    if not may_hold_speech(samples):
        return Utterance(seconds=len(samples) / SAMPLE_RATE_HZ)
    opened = stream()
    for at in range(0, len(samples), CHUNK):
        opened.accept(samples[at : at + CHUNK])
    return opened.finish()
