"""The ears: audio in, utterances out (n best hypotheses of words). Imports nothing heavy until a function is called."""

from __future__ import annotations

from assistant.hearing.errors import HearingError, UnknownWordsError, WavError
from assistant.hearing.recogniser import Recogniser, SpokenGrammar, Stream, open_recogniser
from assistant.hearing.wav import SAMPLE_RATE_HZ, read_wav

__all__ = [
    "SAMPLE_RATE_HZ",
    "HearingError",
    "Recogniser",
    "SpokenGrammar",
    "Stream",
    "UnknownWordsError",
    "WavError",
    "open_recogniser",
    "read_wav",
]
