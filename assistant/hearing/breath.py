"""Hears a whole recording as one utterance: nothing in silence and mere noise, a very long one piece by piece.

What stands before and after the speech is cut short: the recogniser makes words of what others say there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from assistant.hearing.heard_twice import is_clear
from assistant.hearing.recogniser import Stream
from assistant.hearing.voice_activity import (
    FRAME,
    is_talk,
    loudness_dbfs,
    may_hold_speech,
    measured,
    speech_range_dbfs,
    stands_out_s,
)
from assistant.hearing.wav import SAMPLE_RATE_HZ
from assistant.utterance import Hypothesis, Utterance

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

CHUNK = SAMPLE_RATE_HZ
# Nobody speaks a minute in one breath; longer recordings are cut in their quietest place, to bound time and memory.
LONGEST_PIECE = 60 * SAMPLE_RATE_HZ
SHORTEST_PIECE = 30 * SAMPLE_RATE_HZ
# Put before and after clear speech: the acoustic model is unsure of a word that begins with the recording (0.2 s took
# tuning sentences, cut at their first sound, from 77 % to 85 % right). In noise such stillness does harm: with other
# people's talk behind, 82 % right fell to 73 %.
STILL_S = 0.2
# In noise what is kept is this much around all that comes near to the loudest of it.
NEAR_DB = 12.0
KEPT_AROUND_S = 0.2


def heard_whole(
    samples: NDArray[np.float32],
    stream: Callable[[], Stream],
    prepared: Callable[[NDArray[np.float32]], NDArray[np.float32]] = lambda samples: samples,
) -> Utterance:
    """One utterance of all the samples; of more than a minute, one hypothesis: its pieces' best words in order.

    `prepared` gives the samples of a piece as these ears hear them best.
    """
    heard = [_heard(piece, stream, prepared) for piece in pieces(samples)]
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


def _heard(
    samples: NDArray[np.float32],
    stream: Callable[[], Stream],
    prepared: Callable[[NDArray[np.float32]], NDArray[np.float32]],
) -> Utterance:
    nothing = Utterance(seconds=len(samples) / SAMPLE_RATE_HZ)
    if not may_hold_speech(samples):
        return nothing
    opened = stream()
    ready = prepared(samples)
    for at in range(0, len(ready), CHUNK):
        opened.accept(ready[at : at + CHUNK])
    utterance = opened.finish()
    return utterance if is_talk(stands_out_s(samples), len(utterance.best.words)) else nothing


def framed(samples: NDArray[np.float32]) -> NDArray[np.float32]:
    """The speech with stillness around it where it is clear, else with a little of its noise and no more."""
    import numpy as np

    if is_clear(samples):
        still = np.zeros(round(STILL_S * SAMPLE_RATE_HZ), dtype=np.float32)
        return np.concatenate([still, samples, still])
    _, loud_dbfs = speech_range_dbfs(samples)
    near = np.flatnonzero(loudness_dbfs(samples) > loud_dbfs - NEAR_DB) * FRAME
    around = round(KEPT_AROUND_S * SAMPLE_RATE_HZ)
    return samples[max(0, near[0] - around) : near[-1] + FRAME + around]
