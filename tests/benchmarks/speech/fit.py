"""Fits the weights of the decision that `assistant/dialogue/weights.py` marks as fitted, and prints them.

usage: python tests/benchmarks/speech/fit.py [--every 3] [--talk-counts 0.35] [--steps 80]

Where the second model is installed they are those of RATED_WEIGHTS, else (or with OXYGEN_ASSISTANT_RATING=off) WEIGHTS.

They are those that make the right outcomes of tuning speech likeliest: the right reading, or "unheard" where none is
right; of other people's talk and of noise, "talk". A penalty holds each near its present value where the speech says
little about it. Nothing is written: what is printed goes into weights.py by hand. The formula stands here a second
time, for all utterances at once; that it gives what `weighed` gives is checked at each run.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

import numpy as np
import numpy.typing as npt
import places  # noqa: F401  (first: it makes the repository and the voices importable)
from conditions import CONDITIONS
from corpora import Item, commands, human, read_aloud, talk
from ears import Memory
from incidents import default_setting, running
from played import audio_id, noises, played, speak
from scipy.optimize import minimize
from scoring import verdict

from assistant.dialogue.decide import _merged
from assistant.dialogue.moves import step_asks
from assistant.dialogue.plausibility import plausibility
from assistant.dialogue.turn import Setting
from assistant.dialogue.weigh import (
    BOTH,
    Weighed,
    ahead,
    ahead_a_word,
    begun_anew,
    behind_best_rated,
    has_problem,
    log_sum,
    no_speech,
    talk_as,
    vague,
    weighed,
)
from assistant.dialogue.weights import RATED_WEIGHTS, WEIGHTS, Weights
from assistant.hearing.rating.model import model_folder
from assistant.meaning.contract import to_json
from assistant.meaning.typed import typed
from assistant.meaning.understand import Reading, understand

FITTED = (
    "acoustic", "word", "more_meanings", "agreed", "unheard_slope", "unheard_by_rival", "unheard_agreed",
    "unheard_divided", "plausible", "talk", "background", "background_slope", "background_agreed", "talk_by_clearness",
    "background_by_clearness", "background_head_start", "talk_as_vital", "talk_as_move", "talk_as_reading",
    "talk_as_minutes", "talk_as_request",
)  # fmt: skip
# Fitted besides where a second model rated what was heard; `plausible` is then held: plausibility.py has it too.
FITTED_RATED = (
    "rated", "talk_ahead", "talk_ahead_a_word", "talk_vague", "unheard_rated", "unheard_ahead",
    "unheard_ahead_a_word", "unheard_vague",
)  # fmt: skip
RATED = model_folder() is not None
NOW = RATED_WEIGHTS if RATED else WEIGHTS
NAMES = (*(name for name in FITTED if name != "plausible"), *FITTED_RATED) if RATED else FITTED
TALK_IN = ("quiet", "radio15")
NOISE_CLIPS = 20
# A parameter's penalty is 1 where it has moved by so many times its size (0.3 at least).
HELD_BY, LEAST_SIZE = 3.0, 0.3
# No outcome counts for more than this: a command of which nothing was heard must not bend the rest.
WORST = -12.0
SURE = 0.93
Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """One utterance of tuning speech with its readings; `right` marks those that were said."""

    condition: str
    other_talk: bool
    readings: tuple[Reading, ...]
    plausible: tuple[float, ...]
    right: tuple[bool, ...]
    per_s: float
    behind: float
    beside: float
    heard_twice: bool
    rates: tuple[float, ...]
    no_speech: bool
    ahead: float
    ahead_a_word: float
    vague: float
    weighed: Weighed


def examples(every: int) -> Iterator[Example]:
    """Every `every`th command in each place, other talk in quiet and by radio, noise alone."""
    setting = default_setting()
    memory = Memory("graph", setting.grammar)
    said = list(commands("tuning", 1))[::every]
    others = [*talk("tuning", 1), *read_aloud("tuning"), *(item for item in human("tuning") if item.kind == "talk")]
    others = [item for item in others if not _is_a_command(item, setting)]
    speak("tuning", [*said, *others], CONDITIONS)
    for condition in CONDITIONS:
        for item in (*said, *(others if condition in TALK_IN else ()), *noises(NOISE_CLIPS)):
            found = _example(memory, item, condition, setting)
            if found is not None:
                yield found


def _is_a_command(item: Item, setting: Setting) -> bool:
    """Whether other people said to others what the grammar has word for word: nothing in the sound tells it apart."""
    words = item.clip.words
    return bool(words) and bool(understand(typed(words, setting.grammar), setting.grammar, setting.kit))


def _example(memory: Memory, item: Item, condition: str, setting: Setting) -> Example | None:
    """None where nothing came to a reading: there is nothing to weigh."""
    utterance = memory.hear(audio_id(item, condition), lambda: played("tuning", item, condition))
    heard = running(item, setting)
    state = heard.incident.state
    readings = _merged(understand(utterance, setting.grammar, setting.kit), state)
    if not readings or utterance.background is None or (RATED and utterance.freely is None):
        return None
    first = max(readings, key=lambda reading: reading.log_score)
    asks = step_asks(setting.procedures, state)
    every = log_sum(hypothesis.log_likelihood for hypothesis in utterance.hypotheses)
    share = min(1.0, float(np.exp(log_sum(reading.log_score for reading in readings) - every)))
    meant = [[to_json(meaning) for meaning in reading.meanings] for reading in readings]
    return Example(
        condition=condition,
        other_talk=item.kind != "command",
        readings=readings,
        plausible=tuple(plausibility(reading.meanings, state, heard.at_s, asks) for reading in readings),
        right=tuple(item.kind == "command" and verdict(item.means, "taken", each) == "right" for each in meant),
        per_s=utterance.best.log_likelihood / utterance.seconds,
        behind=utterance.background.log_likelihood,
        beside=every + float(np.log(1 - share)) if share < 1 else -np.inf,
        heard_twice=any(hypothesis.first_in for hypothesis in utterance.hypotheses),
        rates=tuple(behind_best_rated(readings, NOW)),
        no_speech=no_speech(utterance),
        ahead=ahead(utterance, NOW),
        ahead_a_word=ahead_a_word(utterance, first, NOW),
        vague=vague(utterance, NOW),
        weighed=weighed(readings, utterance, state, heard.at_s, asks),
    )


class Speech:
    """All examples as arrays: a row for each, a column for each of its readings."""

    def __init__(self, given: Sequence[Example]) -> None:
        self.given = given
        self.scores = self._columns(lambda e: [r.log_score for r in e.readings], -np.inf)
        self.words = self._columns(lambda e: [len(r.words) for r in e.readings], 0.0)
        self.more = self._columns(lambda e: [len(r.meanings) > 1 for r in e.readings], 0.0)
        self.first = self._columns(lambda e: [r.first_in == BOTH for r in e.readings], 0.0)
        self.anew = self._columns(lambda e: [begun_anew(r) for r in e.readings], 0.0)
        self.plausible = self._columns(lambda e: list(e.plausible), 0.0)
        self.rates = self._columns(lambda e: list(e.rates), 0.0)
        self.right = self._columns(lambda e: list(e.right), 0.0) > 0
        self.talk = np.array([e.other_talk for e in given])
        self.best = self.scores.max(axis=1)
        self.best_words = self.words[np.arange(len(given)), self.scores.argmax(axis=1)]
        second = np.sort(self.scores, axis=1)[:, -2] if self.scores.shape[1] > 1 else np.full(len(given), -np.inf)
        self.best_reading = [max(e.readings, key=lambda r: r.log_score) for e in given]
        self.problem = np.array([has_problem(reading) for reading in self.best_reading])
        self.lead = np.maximum(second - self.best, NOW.rivals_end_at)
        self.per_s, self.behind, self.beside, twice = (
            np.array([getattr(e, name) for e in given], dtype=float)
            for name in ("per_s", "behind", "beside", "heard_twice")
        )
        self.ahead, self.ahead_a_word, self.vague, self.no_speech = (
            np.array([getattr(e, name) for e in given], dtype=float)
            for name in ("ahead", "ahead_a_word", "vague", "no_speech")
        )
        self.agreed = self.first.any(axis=1)
        self.divided = (twice > 0) & ~self.agreed

    def _columns(self, of: Callable[[Example], Sequence[float]], empty: float) -> Array:
        width = max(len(e.readings) for e in self.given)
        rows = [[*map(float, of(e)), *[empty] * (width - len(e.readings))] for e in self.given]
        return np.array(rows)

    def log_shares(self, w: Weights) -> Array:
        """log P of each reading, then of talk, then of unheard."""
        clear = np.clip((self.per_s - w.noisy_per_s) / (w.clear_per_s - w.noisy_per_s), 0, 1)
        acoustic = w.acoustic + (w.acoustic_clear - w.acoustic) * clear
        readings = acoustic[:, None] * (self.scores - self.best[:, None]) + w.word * self.words
        readings = readings + w.plausible * self.plausible + w.more_meanings * self.more + w.agreed * self.first
        readings = readings + w.begun_anew * self.anew + w.rated * self.rates
        said, clearness = w.word * self.best_words, self.per_s - w.talk_at_per_s
        as_rated = w.talk_ahead * self.ahead + w.talk_ahead_a_word * self.ahead_a_word + w.talk_vague * self.vague
        as_rated = as_rated + w.talk_no_speech * self.no_speech
        beside = acoustic * (self.beside - self.best) + said + w.talk + w.talk_by_clearness * clearness
        lead = (self.best - self.behind + w.background_head_start / self.best_words) / self.best_words
        blurred = said + w.background - w.background_slope * lead + w.background_by_clearness * clearness
        blurred = blurred + w.background_agreed * self.agreed
        unheard = said + w.unheard_slope * (w.unheard_at_per_s - self.per_s) + w.unheard_by_rival * self.lead
        unheard = unheard + w.unheard_agreed * self.agreed + w.unheard_divided * self.divided
        unheard = unheard + w.unheard_rated * RATED + w.unheard_ahead * self.ahead + w.unheard_vague * self.vague
        unheard = unheard + w.unheard_ahead_a_word * self.ahead_a_word
        as_these = np.array([talk_as(reading, w) for reading in self.best_reading])
        as_these = as_these + w.talk_as_clear_problem * self.problem * clear
        all_of = np.column_stack([readings, np.logaddexp(beside, blurred) + as_these + as_rated, unheard])
        shares: Array = all_of - np.logaddexp.reduce(all_of, axis=1)[:, None]
        return shares

    def log_right(self, w: Weights) -> Array:
        """log P of the right outcome of each example."""
        shares = self.log_shares(w)
        of_right = np.logaddexp.reduce(np.where(self.right, shares[:, :-2], -np.inf), axis=1)
        of_command = np.where(self.right.any(axis=1), of_right, shares[:, -1])
        outcome: Array = np.where(self.talk, shares[:, -2], of_command)
        return outcome

    def furthest_from_weighed(self) -> float:
        """The largest difference between the best reading's probability here and in `weighed`."""
        best = np.exp(self.log_shares(NOW)[:, :-2].max(axis=1))
        return float(np.abs(best - [e.weighed.readings[0][1] for e in self.given]).max())


def with_values(values: Array) -> Weights:
    return replace(NOW, **{name: float(value) for name, value in zip(NAMES, values, strict=True)})


def fitted(speech: Speech, talk_counts: float, steps: int) -> Weights:
    start = np.array([getattr(NOW, name) for name in NAMES])
    size = HELD_BY * np.maximum(np.abs(start), LEAST_SIZE)
    counts = np.where(speech.talk, talk_counts, 1.0)

    def loss(values: Array) -> float:
        likely = np.maximum(speech.log_right(with_values(values)), WORST)
        return float(-(counts * likely).sum() + (((values - start) / size) ** 2).sum())

    found = minimize(loss, start, method="L-BFGS-B", options={"maxiter": steps, "eps": 1e-4})
    return with_values(found.x)


def table(speech: Speech, w: Weights) -> Iterator[str]:
    """Of each place: the best reading right; right, and wrong, with more than SURE; of other talk, taken so."""
    shares = speech.log_shares(w)[:, :-2]
    top = shares.argmax(axis=1)
    row = np.arange(len(top))
    sure, right = np.exp(shares[row, top]) > SURE, speech.right[row, top]
    heard_in = np.array([e.condition for e in speech.given])
    yield "| condition | commands | best right, % | sure and right, % | sure and wrong, % | talk sure, of |"
    yield f"|{' --- |' * 6}"
    for condition in CONDITIONS:
        here = (heard_in == condition) & ~speech.talk
        others = (heard_in == condition) & speech.talk
        shown = [f"{100 * part[here].mean():.1f}" for part in (right, sure & right, sure & ~right)]
        yield f"| {condition} | {here.sum()} | {' | '.join(shown)} | {(sure & others).sum()} of {others.sum()} |"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--every", type=int, default=3, metavar="N", help="only every Nth command (default 3)")
    parser.add_argument("--talk-counts", type=float, default=0.35, metavar="X", help="of what a command counts")
    parser.add_argument("--steps", type=int, default=80, metavar="N", help="of the search, at most (default 80)")
    options = parser.parse_args()
    speech = Speech(list(examples(options.every)))
    print(f"{len(speech.given)} utterances, {speech.talk.sum()} of other talk or noise")
    off = speech.furthest_from_weighed()
    if off > 1e-6:
        raise SystemExit(f"the formula here is not the assistant's: {off:.2g} apart")
    weights = fitted(speech, options.talk_counts, options.steps)
    print("\n".join(f"{name}: {getattr(NOW, name):.3f} -> {getattr(weights, name):.3f}" for name in NAMES))
    for name, each in (("now", NOW), ("fitted", weights)):
        print(f"\n{name}\n" + "\n".join(table(speech, each)))


if __name__ == "__main__":
    main()
