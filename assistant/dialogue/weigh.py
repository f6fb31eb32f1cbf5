"""How probable each reading of an utterance is: what the sound says, weighed with what can be now.

P(reading | sound, state) is proportional to P(sound | words)^a · P(words) · P(values | state). Beside the readings
stand two rivals: other people's talk, and something that is in none of the hypotheses. Pure; refuses nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import exp, inf, log

from assistant.dialogue.plausibility import plausibility
from assistant.dialogue.weights import RATED_WEIGHTS, WEIGHTS, Weights
from assistant.incident.state import State
from assistant.meaning import kinds as k
from assistant.meaning.understand import Reading
from assistant.utterance import Utterance

BOTH = 2
TALK_AS = {
    "vital_sign": "talk_as_vital",
    "step": "talk_as_move",
    "answer": "talk_as_move",
    "gauge_reading": "talk_as_reading",
    "delivery_device": "talk_as_reading",
    "target_saturation": "talk_as_reading",
    "time_to_handover": "talk_as_minutes",
    "cylinder_size": "talk_as_request",
    "question": "talk_as_request",
    "problem": "talk_as_request",
}
"""Kinds of meanings, and the weight that tells how often other people's talk is heard as one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """The readings, most probable first, each with its probability; with `talk` and `unheard` they add up to 1."""

    readings: tuple[tuple[Reading, float], ...]
    talk: float
    unheard: float


def weighed(
    readings: Sequence[Reading],
    utterance: Utterance,
    state: State,
    at_s: float,
    asks: str | None = None,
    weights: Weights | None = None,
) -> Weighed:
    """`readings` (at least one) with their probabilities; `asks` is what the procedure's step waits for.

    `weights` are those for the ears that heard it, if none are given.
    """
    weights = weights or weights_for(utterance)
    rates = behind_best_rated(readings, weights)
    acoustic = _acoustic(utterance, weights)
    scores = [
        acoustic * reading.log_score
        + weights.word * len(reading.words)
        + weights.plausible * plausibility(reading.meanings, state, at_s, asks)
        + weights.more_meanings * (len(reading.meanings) > 1)
        + weights.agreed * (reading.first_in == BOTH)
        + weights.begun_anew * begun_anew(reading)
        + weights.rated * rate
        for reading, rate in zip(readings, rates, strict=True)
    ]
    others = (_talk(readings, utterance, acoustic, weights), _unheard(readings, utterance, acoustic, weights))
    rivals = [*scores, *others]
    *shares, talk, unheard = _normalised(rivals)
    ranked = sorted(zip(readings, shares, strict=True), key=lambda pair: -pair[1])
    return Weighed(readings=tuple(ranked), talk=talk, unheard=unheard)


def weights_for(utterance: Utterance) -> Weights:
    """Those fitted to ears with a second model where that rated the utterance."""
    return WEIGHTS if utterance.freely is None else RATED_WEIGHTS


def behind_best_rated(readings: Sequence[Reading], weights: Weights) -> list[float]:
    """How far the second model rates each reading behind the one that it rates best: 0 or less."""
    rates = [reading.rated for reading in readings if reading.rated is not None]
    if not rates:
        return [0.0] * len(readings)
    lacking = min(rates) - weights.rated_lacking
    return [(lacking if reading.rated is None else reading.rated) - max(rates) for reading in readings]


def _acoustic(utterance: Utterance, weights: Weights) -> float:
    """What the likelihoods are worth: more in clear speech than in noise, which has less likelihood in a second."""
    return weights.acoustic + (weights.acoustic_clear - weights.acoustic) * _clear(utterance, weights)


def _clear(utterance: Utterance, weights: Weights) -> float:
    """How clear the speech is, from 0 in noise to 1 in quiet; 0 of other ears than vosk."""
    if (per_s := _per_s(utterance)) is None:
        return 0.0
    clear = (per_s - weights.noisy_per_s) / (weights.clear_per_s - weights.noisy_per_s)
    return min(max(clear, 0.0), 1.0)


def _talk(readings: Sequence[Reading], utterance: Utterance, acoustic: float, weights: Weights) -> float:
    """Of other people's talk: hypotheses that are no sentence of the grammar, and a background that fits as well."""
    best = max(readings, key=lambda reading: reading.log_score)
    every = log_sum(hypothesis.log_likelihood for hypothesis in utterance.hypotheses)
    ours = log_sum(reading.log_score for reading in readings)
    share = exp(min(0.0, ours - every))
    beside = every + log(1 - share) if share < 1 else -inf
    said = weights.word * len(best.words) + talk_as(best, weights)
    said += weights.talk_as_clear_problem * has_problem(best) * _clear(utterance, weights)
    clearness = per_s - weights.talk_at_per_s if (per_s := _per_s(utterance)) is not None else 0.0
    addressed = weights.talk_addressed * utterance.addressed
    said += weights.talk_ahead * ahead(utterance, weights) + weights.talk_vague * vague(utterance, weights)
    said += weights.talk_ahead_a_word * ahead_a_word(utterance, best, weights)
    said += weights.talk_no_speech * no_speech(utterance)
    heard = acoustic * beside + said + weights.talk + weights.talk_by_clearness * clearness + addressed
    behind = utterance.background
    if behind is None:
        return heard
    head_start = weights.background_head_start / len(best.words)
    lead_a_word = (best.log_score - behind.log_likelihood + head_start) / len(best.words)
    blurred = acoustic * best.log_score + said + weights.background - weights.background_slope * lead_a_word
    blurred += weights.background_by_clearness * clearness + weights.background_agreed * _agreed(readings) + addressed
    return log_sum((heard, blurred))


def begun_anew(reading: Reading) -> bool:
    """Whether it is a bare number said after another that "no" took back in the same breath."""
    bare = len(reading.meanings) == 1 and isinstance(reading.meanings[0], k.BareNumber)
    return bare and "no" in reading.words[1:]


def talk_as(reading: Reading, weights: Weights) -> float:
    """How likely other people's talk is heard as a reading of such kinds, each counted once."""
    kinds = {meaning.kind for meaning in reading.meanings}
    found: list[float] = [getattr(weights, TALK_AS[kind]) for kind in sorted(kinds) if kind in TALK_AS]
    return sum(found)


def has_problem(reading: Reading) -> bool:
    """Whether something is wrong with the equipment."""
    return any(isinstance(meaning, k.Problem) for meaning in reading.meanings)


def _unheard(readings: Sequence[Reading], utterance: Utterance, acoustic: float, weights: Weights) -> float:
    """Of something that none of the hypotheses has, as `weights` says; other ears than vosk have no such scale."""
    best, *others = sorted(readings, key=lambda reading: -reading.log_score)
    top = acoustic * best.log_score + weights.word * len(best.words)
    if (per_s := _per_s(utterance)) is None:
        return top + weights.unheard_of_others
    behind = others[0].log_score - best.log_score if others else -inf
    poor = weights.unheard_slope * (weights.unheard_at_per_s - per_s)
    if any(hypothesis.first_in for hypothesis in utterance.hypotheses):
        poor += weights.unheard_agreed if _agreed(readings) else weights.unheard_divided
    if utterance.freely is not None:
        poor += weights.unheard_rated + weights.unheard_ahead * ahead(utterance, weights)
        poor += weights.unheard_ahead_a_word * ahead_a_word(utterance, best, weights)
        poor += weights.unheard_vague * vague(utterance, weights)
    return top + poor + weights.unheard_by_rival * max(behind, weights.rivals_end_at)


def ahead(utterance: Utterance, weights: Weights) -> float:
    """How much likelier what the second model would write itself is to it than the best of the hypotheses."""
    return min(utterance.freely_ahead, weights.ahead_ends_at)


def ahead_a_word(utterance: Utterance, best: Reading, weights: Weights) -> float:
    """The same for each word of the best reading."""
    return min(ahead(utterance, weights) / len(best.words), weights.ahead_a_word_ends_at)


def vague(utterance: Utterance, weights: Weights) -> float:
    """How little sure the second model is of what it would write itself, for each of its words; 0 where it has none."""
    freely = utterance.freely
    if freely is None or not freely.words:
        return 0.0
    return min(-freely.log_likelihood / len(freely.words), weights.vague_ends_at)


def no_speech(utterance: Utterance) -> bool:
    """Whether a second model heard it, and heard no words in it."""
    return utterance.freely is not None and not utterance.freely.words


def _agreed(readings: Sequence[Reading]) -> bool:
    """Whether one reading came first in both hearings of the sound."""
    return any(reading.first_in == BOTH for reading in readings)


def _per_s(utterance: Utterance) -> float | None:
    """The log likelihood in a second of sound; None of other ears than vosk, which have no such scale."""
    if utterance.engine != "vosk" or not utterance.seconds:
        return None
    return utterance.best.log_likelihood / utterance.seconds


def _normalised(scores: Sequence[float]) -> list[float]:
    whole = log_sum(scores)
    return [exp(score - whole) for score in scores]


def log_sum(logs: Iterable[float]) -> float:
    """log of the sum of what they are logarithms of."""
    found = [one for one in logs if one > -inf]
    if not found:
        return -inf
    top = max(found)
    return top + log(sum(exp(one - top) for one in found))
