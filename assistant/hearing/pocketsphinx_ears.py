"""The fallback ears: pocketsphinx, whose model is in its wheel, over the grammar's acceptor. Less accurate than vosk.

Takes samples, gives the n best sentences. Log likelihoods are natural logarithms of pocketsphinx's path scores, not
normalised, and move a little as the decoder gets used to a voice. It has no unknown word: other talk comes out as the
nearest sentence. Words its dictionary lacks, or says otherwise, come from the grammar's pronunciation file.
"""

from __future__ import annotations

import hashlib
import os
import sys
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from itertools import islice
from math import exp, log
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assistant.hearing.breath import heard_whole
from assistant.hearing.cache import cache_folder, keep_newest, whole_folder
from assistant.hearing.errors import HearingError, UnknownWordsError
from assistant.hearing.pcm import as_pcm
from assistant.hearing.recogniser import HYPOTHESES, UNKNOWN, AcceptorLike, SpokenGrammar, distinct
from assistant.hearing.wav import SAMPLE_RATE_HZ
from assistant.utterance import Hypothesis, Utterance

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

SEARCH = "grammar"
# The default beams take several times real time on a grammar of this size. With these, 0.1 of it; the word insertion
# penalty keeps short words from growing on the end of a sentence (tuned on the grammar's example sentences).
SEARCH_SETTINGS = {"beam": 1e-40, "wbeam": 1e-22, "pbeam": 1e-40, "maxhmmpf": 5_000, "wip": 0.01}
LEAST_PROBABILITY = 1e-9
KEPT_GRAPHS = 4
# Rivals with the same words and other pauses are frequent, so more are drawn than wanted.
DRAWN = 100


class PocketsphinxRecogniser:
    """Pocketsphinx with the grammar as its search."""

    name = "pocketsphinx"

    def __init__(self, decoder: Any) -> None:
        self._decoder = decoder
        self._open: PocketsphinxStream | None = None

    @classmethod
    def opened(cls, grammar: SpokenGrammar, pronunciations: str = "") -> PocketsphinxRecogniser:
        """Ready to hear the grammar; raises UnknownWordsError, HearingError."""
        words = set(grammar.words()) - {UNKNOWN}
        entries = dictionary(words, _shipped_dictionary(), pronunciations)
        if missing := words - entries.keys():
            raise UnknownWordsError("pocketsphinx", missing, grammar.word_places())
        decoder = _decoder(entries)
        try:
            decoder.add_fsg(SEARCH, _graph(decoder, grammar))
            decoder.activate_search(SEARCH)
        except (ValueError, RuntimeError, KeyError) as error:
            raise HearingError(f"pocketsphinx refuses the grammar: {error}") from None
        return cls(decoder)

    def hear(self, samples: NDArray[np.float32]) -> Utterance:
        return heard_whole(samples, self.stream)

    def stream(self) -> PocketsphinxStream:
        if self._open:
            self._open.drop()
        self._open = PocketsphinxStream(self._decoder)
        return self._open

    def background(self, samples: NDArray[np.float32]) -> Hypothesis | None:
        return None


class PocketsphinxStream:
    """One utterance; the decoder can hold only one at a time, so opening a second one drops the first."""

    silent = False

    def __init__(self, decoder: Any) -> None:
        self._decoder = decoder
        self._samples = 0
        self._closed = False
        decoder.start_utt()

    def accept(self, samples: NDArray[np.float32]) -> str:
        if self._closed:
            return ""
        self._decoder.process_raw(as_pcm(samples, at=self._samples))
        self._samples += len(samples)
        hypothesis = self._decoder.hyp()
        return hypothesis.hypstr if hypothesis else ""

    def drop(self) -> None:
        """Ends the utterance unheard, where that has not been done."""
        if not self._closed:
            self._closed = True
            self._decoder.end_utt()

    def finish(self) -> Utterance:
        dropped = self._closed
        self.drop()
        heard = distinct(_rivals(self._decoder))[:HYPOTHESES] if self._samples and not dropped else ()
        return Utterance(hypotheses=heard, seconds=self._samples / SAMPLE_RATE_HZ)


def dictionary(words: Iterable[str], shipped: Iterable[str], ours: str) -> dict[str, tuple[str, ...]]:
    """The pronunciations of these words, in ARPAbet; a word that stands in our file is taken from there alone."""
    wanted = set(words)
    own = _gathered(_entries(line.partition("#")[0] for line in ours.splitlines()), wanted)
    return {**_gathered(_entries(shipped), wanted), **own}


def _entries(lines: Iterable[str]) -> Iterator[tuple[str, str]]:
    """(word, pronunciation) of lines such as "psi P IY EH S AY" or, for a second one, "psi(2) S AY"."""
    for line in lines:
        word, _, phones = line.strip().partition(" ")
        if phones:
            yield word.partition("(")[0], " ".join(phones.split())


def _gathered(entries: Iterable[tuple[str, str]], wanted: set[str]) -> dict[str, tuple[str, ...]]:
    gathered: dict[str, tuple[str, ...]] = {}
    for word, phones in entries:
        if word in wanted and phones not in gathered.get(word, ()):
            gathered[word] = (*gathered.get(word, ()), phones)
    return gathered


def _shipped_dictionary() -> list[str]:
    import pocketsphinx

    return Path(pocketsphinx.get_model_path("en-us/cmudict-en-us.dict")).read_text(encoding="utf-8").splitlines()


def _decoder(entries: Mapping[str, tuple[str, ...]]) -> Any:
    """A decoder that knows these words only: quicker to start, and ours stand in place of the shipped ones."""
    import pocketsphinx

    with tempfile.TemporaryDirectory(prefix="oxygen-assistant-") as folder:
        path = Path(folder) / "words.dict"
        path.write_text("".join(_lines(entries)), encoding="utf-8")
        try:
            return pocketsphinx.Decoder(
                hmm=pocketsphinx.get_model_path("en-us/en-us"),
                dict=str(path),
                lm=None,
                samprate=float(SAMPLE_RATE_HZ),
                dither=False,
                loglevel="FATAL",
                **SEARCH_SETTINGS,
            )
        except (RuntimeError, ValueError) as error:
            raise HearingError(f"pocketsphinx cannot start: {error}") from None


def _graph(decoder: Any, grammar: SpokenGrammar) -> Any:
    """The grammar's acceptor as a finite-state grammar, from the cache where it was built before.

    Not from the JSGF text: pocketsphinx expands that without sharing, which took two minutes and 1.7 GB.
    """
    key = hashlib.sha256(f"{LEAST_PROBABILITY} {grammar.digest}".encode()).hexdigest()[:24]
    folder = cache_folder() / "fallback" / key
    if not (folder / "grammar.fsg").is_file():
        acceptor = grammar.acceptor()
        graph = decoder.create_fsg(SEARCH, acceptor.start, _end(acceptor), list(_transitions(acceptor)))
        with whole_folder(folder) as filling:
            graph.writefile(str(filling / "grammar.fsg"))
    os.utime(folder)
    keep_newest(folder.parent, KEPT_GRAPHS)
    return decoder.read_fsg(str(folder / "grammar.fsg"))


def _end(acceptor: AcceptorLike) -> int:
    """The one state where every utterance ends; pocketsphinx takes no more than one."""
    return 1 + max(acceptor.start, *acceptor.finals, *(max(arc[0], arc[3]) for arc in acceptor.arcs))


def _transitions(acceptor: AcceptorLike) -> Iterator[tuple[int, int, float] | tuple[int, int, float, str]]:
    for origin, word, cost, target in acceptor.arcs:
        if word and word != UNKNOWN:
            yield origin, target, _probability(cost), word
        elif not word:
            yield origin, target, _probability(cost)
    end = _end(acceptor)
    yield from ((state, end, _probability(cost)) for state, cost in acceptor.finals.items())


def _probability(cost: float) -> float:
    return min(1.0, max(exp(-cost), LEAST_PROBABILITY))


def _lines(entries: Mapping[str, tuple[str, ...]]) -> Iterator[str]:
    for word, pronunciations in sorted(entries.items()):
        for index, phones in enumerate(pronunciations, start=1):
            yield f"{word} {phones}\n" if index == 1 else f"{word}({index}) {phones}\n"


def _rivals(decoder: Any) -> Iterator[Hypothesis]:
    """The best path first, even where the lattice for the others cannot be had."""
    best = decoder.hyp()
    if best is None:
        return
    yield _hypothesis(best)
    # pocketsphinx gives None for a rival that has no words of its own
    rivals = islice(decoder.nbest() or (), DRAWN)
    yield from (_hypothesis(rival) for rival in rivals if rival is not None)


def _hypothesis(found: Any) -> Hypothesis:
    """Its score is a likelihood, with the best sound of every frame set to 1; it may be too small for a float."""
    return Hypothesis(words=tuple(found.hypstr.split()), log_likelihood=log(max(found.score, sys.float_info.min)))
