"""From an utterance's hypotheses to its possible meanings, best first.

What does not parse as a whole means nothing here; what is stated in part of it is another question.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import exp, log

from assistant.grammar import Grammar, Node
from assistant.grammar.matching import BEAM

# Imported for the builders that they register.
from assistant.meaning import conversation, equipment, patient, setting  # noqa: F401
from assistant.meaning.among import ANSWER, Parts, counts, names_it, stated_among
from assistant.meaning.breath import in_order
from assistant.meaning.cued import stated_by_cue
from assistant.meaning.kinds import CylinderChange, Meaning, Question
from assistant.meaning.registry import Known, TwoOwnersError, meanings_of
from assistant.meaning.typed import typed
from assistant.oxygen.kit import Kit
from assistant.utterance import Hypothesis, Utterance

LONG_QUESTION = 5
"""Words of a question by which it is known among others: "how long have you" is none of ours. Our choice."""
QUESTIONS = ("question", "asked")
SPELT = {"gage": "gauge"}
"""How a model that learned from American transcripts spells a word of ours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One way to take an utterance: its meanings in the order said, and the words that say so most likely.

    `log_score` is a natural logarithm, comparable only within one utterance: the likelihoods of all hypotheses with
    this meaning, added up. `first_in`: in how many of two hearings it came first; 0 where there was one. `rated`: the
    best rating that a second model gave to words with this meaning, a log likelihood on its own scale. `partly`: there
    were words beside it that nobody understands.
    """

    meanings: tuple[Meaning, ...]
    words: tuple[str, ...]
    log_score: float
    first_in: int = 0
    rated: float | None = None
    partly: bool = False


def understand(utterance: Utterance, grammar: Grammar, kit: Kit) -> tuple[Reading, ...]:
    """The readings of the utterance, best first; none where no hypothesis is for the assistant.

    What is less likely than the best hypothesis by more than BEAM is not looked at.
    """
    merged: dict[tuple[Meaning, ...], Reading] = {}
    least = utterance.best.log_likelihood - BEAM
    hypotheses = [hypothesis for hypothesis in utterance.hypotheses if hypothesis.log_likelihood >= least]
    matched = grammar.parse_each([hypothesis.words for hypothesis in hypotheses])
    built: Known = {}
    for hypothesis, derivations in zip(hypotheses, matched, strict=True):
        for reading in _readings(hypothesis, derivations, kit, built, least):
            known = merged.get(reading.meanings)
            merged[reading.meanings] = reading if known is None else _together(known, reading)
    return tuple(sorted(merged.values(), key=lambda reading: -reading.log_score))


def understood_in_part(utterance: Utterance, grammar: Grammar, kit: Kit) -> tuple[Reading, ...]:
    """The one reading of what is stated among other words; none where nothing is, or where its parts disagree.

    For what the grammar has not as a whole.
    """
    words = utterance.best.words
    return _of_parts(_parts(words, grammar, kit), words, kit)


def _parts(words: tuple[str, ...], grammar: Grammar, kit: Kit) -> Parts:
    """The statements of a line, and the value that a number beside them is told to be; none where one is left over."""
    stated = stated_among(words, grammar)
    parts = tuple(ways for ways in stated.parts if _says_enough(ways[0], grammar, kit))
    if not parts:
        return _cued(words, grammar) or stated_among(words, grammar, ANSWER).parts
    unnamed = any(counts(ways[0], grammar) and not names_it(ways[0], grammar) for ways in parts)
    if stated.counts_more:
        cued = () if unnamed else _cued(stated.beside, grammar)
        return (*parts, *cued) if cued else ()
    if len(parts) == 1 and unnamed:
        return _cued(words, grammar) or parts  # "the oximeter picked up and it says ninety": no gauge
    return parts


def _cued(words: tuple[str, ...], grammar: Grammar, *, overheard: bool = False) -> Parts:
    cued = stated_by_cue(words, grammar, overheard=overheard)
    return (cued,) if cued else ()


def understood_freely(utterance: Utterance, grammar: Grammar, kit: Kit) -> tuple[Reading, ...]:
    """What is told in the text that a second model wrote of the sound by itself, knowing nothing of the grammar.

    For what no hypothesis has. The text may be wrong, and said to anybody: unless all of it is one sentence of the
    grammar, typed, each part has to say what it is about. Of questions, one that ends it and is long enough.
    """
    if utterance.freely is None or not utterance.freely.words:
        return ()
    text = " ".join(SPELT.get(word.lower(), word) for word in utterance.freely.words)
    words = typed(text, grammar).best.words
    if grammar.matches(words):
        return _of_parts((grammar.parse(words),), words, kit)
    if question := _question_at_end(words, grammar):
        return _of_parts((question,), words, kit)
    stated = stated_among(words, grammar)
    if stated.counts_more or not all(names_it(ways[0], grammar) for ways in stated.parts):
        return ()
    readings = _of_parts(stated.parts or _cued(words, grammar, overheard=True), words, kit)
    asks = any(isinstance(meaning, Question) for reading in readings for meaning in reading.meanings)
    return () if asks else readings  # "a pressure washer" asks nothing


def _question_at_end(words: tuple[str, ...], grammar: Grammar) -> tuple[Node, ...]:
    """The derivations of the longest question that ends the words, of LONG_QUESTION words or more."""
    for first in range(len(words) - LONG_QUESTION + 1):
        for rule in QUESTIONS:
            if grammar.matches(words[first:], rule=rule):
                return grammar.parse(words[first:], rule=rule)
    return ()


def _says_enough(part: Node, grammar: Grammar, kit: Kit) -> bool:
    """Not so "I moved it", which changes a bottle only where nothing else is spoken of."""
    try:
        meanings = meanings_of(part, kit)
    except TwoOwnersError:
        return True
    moved = len(meanings) == 1 and isinstance(meanings[0], CylinderChange) and meanings[0].cylinder is None
    return not moved or names_it(part, grammar)


def _of_parts(parts: Parts, words: tuple[str, ...], kit: Kit) -> tuple[Reading, ...]:
    try:
        meanings = in_order([meaning for ways in parts for meaning in meanings_of(ways[0], kit)])
    except TwoOwnersError:
        return ()
    return (Reading(meanings=meanings, words=words, log_score=0.0, partly=True),) if meanings else ()


def _readings(
    hypothesis: Hypothesis, derivations: tuple[Node, ...], kit: Kit, built: Known, least: float
) -> Iterator[Reading]:
    """One for each different meaning of the words; the likeliest derivation has the hypothesis's own likelihood."""
    seen: set[tuple[Meaning, ...]] = set()
    for derivation in derivations:
        score = hypothesis.log_likelihood - (derivation.cost - derivations[0].cost)
        if score < least:
            return
        try:
            meanings = in_order(meanings_of(derivation, kit, built))
        except TwoOwnersError:
            continue
        if meanings and meanings not in seen:
            seen.add(meanings)
            yield Reading(
                meanings=meanings,
                words=hypothesis.words,
                log_score=score,
                first_in=hypothesis.first_in,
                rated=hypothesis.rated,
            )


def _together(one: Reading, other: Reading) -> Reading:
    """Both, under the likelier one's words; their likelihoods added up."""
    better, worse = (one, other) if one.log_score >= other.log_score else (other, one)
    score = better.log_score + log(1.0 + exp(worse.log_score - better.log_score))
    return replace(
        better, log_score=score, first_in=one.first_in + other.first_in, rated=better_rated(one.rated, other.rated)
    )


def better_rated(one: float | None, other: float | None) -> float | None:
    """The higher of two ratings, or the one there is."""
    return other if one is None else one if other is None else max(one, other)
