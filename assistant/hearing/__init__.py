"""The ears: audio in, utterances out (n best hypotheses of words). Imports nothing heavy until a function is called."""

from __future__ import annotations

from assistant.hearing.errors import HearingError, UnknownWords, WavError
from assistant.hearing.recogniser import SAMPLE_RATE_HZ, Recogniser, SpokenGrammar, Stream, open_recogniser
from assistant.hearing.wav import read_wav

__all__ = [
    "SAMPLE_RATE_HZ",
    "HearingError",
    "Recogniser",
    "SpokenGrammar",
    "Stream",
    "UnknownWords",
    "WavError",
    "open_recogniser",
    "read_wav",
]
