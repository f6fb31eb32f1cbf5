"""The ears that are compared, each behind `hear(samples) -> Utterance`, and a memory of all they have heard.

free, words, phrases: vosk with its own graph, or with the grammar's words or phrases as its list. graph: the
assistant's own ears on vosk, with the grammar's sentence graph. pocketsphinx: the assistant's fallback. What was heard
is kept in the cache by audio and ears, so that decisions can be scored again in seconds.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt
from places import CACHE

from assistant import shelf
from assistant.grammar import Grammar
from assistant.hearing.answering import AnsweringGrammar
from assistant.hearing.find_model import vosk_model
from assistant.hearing.graph import derived_model
from assistant.hearing.other_talk import TALK_COST_WHEN_ASKED
from assistant.hearing.pcm import as_pcm
from assistant.hearing.pocketsphinx_ears import PocketsphinxRecogniser
from assistant.hearing.rating.model import RatingModel, model_folder
from assistant.hearing.rating.rated import heard, rated
from assistant.hearing.recogniser import HYPOTHESES, distinct
from assistant.hearing.vosk_ears import ALTERNATIVES, VoskRecogniser, loaded
from assistant.hearing.wav import SAMPLE_RATE_HZ
from assistant.utterance import Hypothesis, Utterance

Samples = npt.NDArray[np.float32]
LISTS = ("free", "words", "phrases")
RATED = ("graph", "answering")  # the assistant's own ears: behind them is the second model, where it is installed


class Ears(Protocol):
    """One way to hear."""

    def hear(self, samples: Samples) -> Utterance: ...


class ListedVosk:
    """Vosk's published graph, cut down by a list of words or phrases where one is given."""

    def __init__(self, model: Path, phrases: Iterable[str] | None) -> None:
        import vosk

        listed = () if phrases is None else (json.dumps([*phrases, "[unk]"]),)
        self._ear = vosk.KaldiRecognizer(loaded(model), SAMPLE_RATE_HZ, *listed)
        self._ear.SetMaxAlternatives(ALTERNATIVES)

    def hear(self, samples: Samples) -> Utterance:
        for at in range(0, len(samples), SAMPLE_RATE_HZ):
            self._ear.AcceptWaveform(as_pcm(samples[at : at + SAMPLE_RATE_HZ], at=at))
        rivals = json.loads(self._ear.FinalResult()).get("alternatives", [])
        heard = [Hypothesis(words=tuple(r["text"].split()), log_likelihood=float(r["confidence"])) for r in rivals]
        return Utterance(hypotheses=distinct(heard)[:HYPOTHESES], seconds=len(samples) / SAMPLE_RATE_HZ)


class FreeBackground:
    """What unrestricted decoding hears: one hypothesis, as the assistant's ears give it for `background`."""

    def __init__(self, ears: VoskRecogniser) -> None:
        self._ears = ears

    def hear(self, samples: Samples) -> Utterance:
        heard = self._ears.background(samples)
        return Utterance(hypotheses=(heard,) if heard else (), seconds=len(samples) / SAMPLE_RATE_HZ)


def _opened(name: str, grammar: Grammar, model: Path) -> Ears:
    makers: Mapping[str, Callable[[], Ears]] = {
        "free": lambda: ListedVosk(model, None),
        "words": lambda: ListedVosk(model, sorted(set(grammar.words()) - {"[unk]"})),
        "phrases": lambda: ListedVosk(model, grammar.phrases()),
        "graph": lambda: VoskRecogniser.opened(grammar, model),
        "answering": lambda: _expecting(grammar, model),
        "background": lambda: FreeBackground(VoskRecogniser.opened(grammar, model)),
        "pocketsphinx": lambda: PocketsphinxRecogniser.opened(grammar, shelf.pronunciations()),
    }
    return makers[name]()


def _expecting(grammar: Grammar, model: Path) -> Ears:
    return VoskRecogniser.opened(AnsweringGrammar(grammar), model, talk_cost=TALK_COST_WHEN_ASKED)


def _listening_source() -> bytes:
    """The assistant's own listening code: it gates, pads and dithers, so a change in it makes old hearings stale."""
    import assistant.hearing

    folder = Path(assistant.hearing.__file__).parent
    names = ("breath", "denoising", "heard_twice", "pcm", "second_hearing", "voice_activity", "vosk_ears")
    return b"".join((folder / f"{name}.py").read_bytes() for name in names)


def _key(name: str, grammar: Grammar, model: Path) -> str:
    """Changes when these ears would hear something else."""
    digest = hashlib.sha256(f"{name} {model.resolve()}\n".encode())
    if name in ("graph", "background", "answering"):
        digest.update(_listening_source())
    if name == "graph":
        digest.update(derived_model(grammar, model).name.encode())
    elif name == "answering":
        folder = derived_model(AnsweringGrammar(grammar), model, TALK_COST_WHEN_ASKED)
        digest.update(folder.name.encode())
    elif name == "pocketsphinx":
        digest.update((grammar.to_pocketsphinx() + shelf.pronunciations()).encode())
    elif name in ("words", "phrases"):
        digest.update("\n".join(grammar.words() if name == "words" else grammar.phrases()).encode())
    return digest.hexdigest()[:20]


class Memory:
    """Ears that hear each piece of audio once: what they heard is read back from the cache afterwards.

    The ears are opened only when something new has to be heard. `heard_new` counts those. `stale` also reads what older
    versions of these ears heard: to try decisions while the grammar changes, never to report with. Not `rated`: as if
    the second model were not installed.
    """

    def __init__(
        self, name: str, grammar: Grammar, model: Path | None = None, *, stale: bool = False, rated: bool = True
    ) -> None:
        self.name = name
        self._grammar, self._model = grammar, model or vosk_model(None)
        self._file = CACHE / "heard" / f"{name}-{_key(name, grammar, self._model)}.jsonl"
        self._file.parent.mkdir(parents=True, exist_ok=True)
        older = self._file.parent.glob(f"{name}-*.jsonl") if stale else ()
        files = [*sorted(older, key=lambda file: file.stat().st_mtime), self._file]
        self._known = {audio: utterance for file in files for audio, utterance in _remembered(file)}
        self._ears: Ears | None = None
        self._ratings = Ratings(model_folder() if rated and name in RATED else None)
        self.heard_new = 0

    def hear(self, audio: str, samples: Callable[[], Samples]) -> Utterance:
        """The utterance in the audio of that identity; `samples` makes it, if it has to be heard."""
        if audio not in self._known:
            self._ears = self._ears or _opened(self.name, self._grammar, self._model)
            utterance = self._ears.hear(samples())
            self._known[audio] = utterance
            self.heard_new += 1
            with self._file.open("a", encoding="utf-8") as out:
                out.write(json.dumps([audio, _as_json(utterance)]) + "\n")
        engine = "vosk" if self.name in RATED else ""  # the decision is fitted to these ears
        return replace(self._ratings.of(audio, self._known[audio], samples), engine=engine)


class Ratings:
    """What the second model, in a folder, finds of what the ears heard; kept apart, for other ears to be tried with it.

    Without a folder nothing is rated.
    """

    def __init__(self, folder: Path | None) -> None:
        self._folder = folder
        self._model: RatingModel | None = None
        self._file = CACHE / "heard" / f"rated-{_rating_key()}.jsonl"
        rows = map(json.loads, _lines(self._file) if folder else ())
        self._known: dict[str, Any] = dict(rows)

    def of(self, audio: str, utterance: Utterance, samples: Callable[[], Samples]) -> Utterance:
        """The utterance with its ratings; `samples` makes the audio, if it has to be heard."""
        if self._folder is None or not utterance.best.words:
            return utterance
        texts = "|".join(hypothesis.text for hypothesis in utterance.hypotheses)
        key = f"{audio} {hashlib.sha256(texts.encode()).hexdigest()[:12]}"
        if key not in self._known:
            self._model = self._model or RatingModel.opened(self._folder)
            sound = heard(np.asarray(samples(), dtype=np.float32), self._model)
            found = rated(utterance, self._model, lambda: sound)
            freely, ahead = found.freely, round(found.freely_ahead, 3)
            rates = [None if h.rated is None else round(h.rated, 3) for h in found.hypotheses]
            self._known[key] = [rates, freely and [freely.text, round(freely.log_likelihood, 3), ahead]]
            with self._file.open("a", encoding="utf-8") as out:
                out.write(json.dumps([key, self._known[key]]) + "\n")
        rates, freely = self._known[key]
        hypotheses = tuple(replace(h, rated=rate) for h, rate in zip(utterance.hypotheses, rates, strict=True))
        if freely is None:
            return utterance
        text, log_likelihood, ahead = freely
        by_itself = Hypothesis(words=tuple(text.split()), log_likelihood=log_likelihood)
        return replace(utterance, hypotheses=hypotheses, freely=by_itself, freely_ahead=ahead)


def _rating_key() -> str:
    import assistant.hearing.rating

    folder = Path(assistant.hearing.rating.__file__).parent
    names = ("model", "rated", "tokens", "written")
    return hashlib.sha256(b"".join((folder / f"{name}.py").read_bytes() for name in names)).hexdigest()[:20]


def _lines(file: Path) -> list[str]:
    return file.read_text(encoding="utf-8").splitlines() if file.exists() else []


def _as_json(utterance: Utterance) -> dict[str, Any]:
    rivals = [[h.text, round(h.log_likelihood, 4), h.first_in] for h in utterance.hypotheses]
    kept = {"seconds": round(utterance.seconds, 3), "rivals": rivals}
    behind = utterance.background
    return kept if behind is None else {**kept, "background": [behind.text, round(behind.log_likelihood, 4)]}


def _remembered(file: Path) -> Iterator[tuple[str, Utterance]]:
    if not file.exists():
        return
    for line in file.read_text(encoding="utf-8").splitlines():
        try:
            audio, kept = json.loads(line)
        except ValueError:  # a run was ended while it wrote
            continue
        rivals = tuple(
            Hypothesis(words=tuple(text.split()), log_likelihood=score, first_in=first)
            for text, score, first in kept["rivals"]
        )
        words, score = kept.get("background", ("", 0.0))
        behind = Hypothesis(words=tuple(words.split()), log_likelihood=score) if "background" in kept else None
        yield audio, Utterance(hypotheses=rivals, background=behind, seconds=kept["seconds"])
