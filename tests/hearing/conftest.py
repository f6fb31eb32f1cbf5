"""A small spoken grammar, a voice to say it, and the vosk model where it is to be had."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.hearing import Recogniser, open_recogniser, read_wav
from assistant.hearing.errors import ModelMissingError
from assistant.hearing.find_model import vosk_model

SENTENCES = (
    "bottle reads fifteen hundred",
    "bottle reads sixteen hundred",
    "small cylinder",
    "large cylinder",
    "fifteen litres",
    "fifty litres",
    "ten litres",
    "how long have we got",
)
HOW_TO_GET_THE_MODEL = (
    "no vosk model: set OXYGEN_ASSISTANT_MODEL to its folder, or run the assistant once with a network"
)


@dataclass(frozen=True)
class SmallAcceptor:
    arcs: tuple[tuple[int, str, float, int], ...]
    start: int
    finals: Mapping[int, float]


@dataclass(frozen=True)
class SmallGrammar:
    """One or more of the sentences in a breath, the last may be a note of any words."""

    sentences: tuple[str, ...] = SENTENCES
    lent: tuple[tuple[str, tuple[str, ...]], ...] = ()

    @property
    def digest(self) -> str:
        return repr((self.sentences, self.lent))

    def acceptor(self) -> SmallAcceptor:
        arcs, finals, fresh = [], {}, 2
        for sentence in self.sentences:
            here = 0
            for word in sentence.split():
                arcs.append((here, word, 2.0 if here == 0 else 0.0, fresh))
                here, fresh = fresh, fresh + 1
            finals[here] = 0.5
            arcs.append((here, "", 1.0, 0))
        arcs += [(0, "note", 2.0, 1), (1, "[unk]", 1.0, 1)]
        return SmallAcceptor(arcs=tuple(arcs), start=0, finals={**finals, 1: 0.5})

    def words(self) -> frozenset[str]:
        return frozenset(word for sentence in self.sentences for word in sentence.split()) | {"note"}

    def word_places(self) -> Mapping[str, tuple[str, int]]:
        return {
            word: ("small.jsgf", line) for line, text in enumerate(self.sentences, start=3) for word in text.split()
        }

    def sounds(self) -> Mapping[str, tuple[str, ...]]:
        return dict(self.lent)


@dataclass(frozen=True)
class TwoSpellings(SmallGrammar):
    """Two words that sound the same, one dearer than the other."""

    sentences: tuple[str, ...] = ("two litres", "too litres")
    dearer: float = 3.0

    def acceptor(self) -> SmallAcceptor:
        arcs = ((0, "two", 1.0, 1), (0, "too", 1.0 + self.dearer, 1), (1, "litres", 0.0, 2))
        return SmallAcceptor(arcs=arcs, start=0, finals={2: 0.0})


@pytest.fixture
def two_spellings() -> TwoSpellings:
    return TwoSpellings()


@pytest.fixture
def small_grammar() -> SmallGrammar:
    return SmallGrammar()


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty cache folder, in place of the user's."""
    monkeypatch.setenv("OXYGEN_ASSISTANT_CACHE", str(tmp_path / "cache"))
    return tmp_path / "cache"


@pytest.fixture(scope="session")
def base_model() -> Path:
    """The vosk model; without it tests fail in CI and skip elsewhere."""
    try:
        return vosk_model(fetch=bool(os.environ.get("CI")))
    except ModelMissingError as missing:
        if os.environ.get("CI"):
            pytest.fail(f"{HOW_TO_GET_THE_MODEL} ({missing})")
        pytest.skip(f"{HOW_TO_GET_THE_MODEL} ({missing})")


@pytest.fixture(scope="session")
def small_ears(base_model: Path, tmp_path_factory: pytest.TempPathFactory) -> Recogniser:
    """Vosk, ready to hear the small grammar."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("OXYGEN_ASSISTANT_CACHE", str(tmp_path_factory.mktemp("cache")))
        return open_recogniser("vosk", SmallGrammar(), model=base_model)


@pytest.fixture(scope="session")
def say(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], NDArray[np.float32]]:
    """The samples of a text spoken by espeak-ng."""
    from assistant.speaking import SilentMouth, VoiceSettings
    from assistant.speaking.espeak_mouth import EspeakMouth
    from assistant.speaking.loudspeaker import Loudspeaker

    folder = tmp_path_factory.mktemp("said")
    mouth = EspeakMouth(VoiceSettings(), Loudspeaker())
    assert not isinstance(mouth, SilentMouth)

    def said(text: str) -> NDArray[np.float32]:
        path = folder / f"{text.replace(' ', '-')}.wav"
        mouth.save(text, path)
        return read_wav(path)

    return said
