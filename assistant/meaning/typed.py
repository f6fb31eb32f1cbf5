"""Typed text becomes an utterance: numerals and words apart, misspelt words repaired, numbers and units never touched."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

from assistant.grammar import Grammar
from assistant.utterance import Hypothesis, Utterance

_REWRITES: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern), replacement)
    for pattern, replacement in (
        (r"[’‘`]", "'"),
        (r"[₂²]", "2"),
        (r"−", "-"),
        (r"(\d)\s*½", r"\1.5"),
        (r"½", " 0.5"),
        (r"\b((?:[a-z]\.){2,})", lambda found: found.group(1).replace(".", "") + " "),
        (r"(?<![\d.,])(\d{1,3}(?:,\d{3})+)(?![\d,])", lambda found: found.group(1).replace(",", "")),
        (r"(?<![\d.])\.(?=\d)", "0."),
        (r"(\d)\s*/\s*(?=\d)", r"\1 over "),
        (r"(\d)\s*(?:-|–|—)\s*(?=\d)", r"\1 to "),
        (r"(?<![\w.])-\s?(?=\d)", " minus "),
        (r"/", " per "),
        (r"%", " percent "),
        (r"°", " degrees "),
    )
)
_TOKEN = re.compile(r"\d+(?:\.\d+)?(?![\d.])|[a-z][a-z0-9']*|\d+")
MISSPELT_FROM = 5
"""Letters of the longer of two words below which nothing is repaired: shorter words are too alike. Our choice."""
TWO_SLIPS_FROM = 8
"""Letters from which two slips of the finger are forgiven instead of one. Our choice."""


def typed(text: str, grammar: Grammar) -> Utterance:
    """The utterance of one typed line, certain of its words; empty where there are none."""
    tokens = tokenised(text)
    if tokens and not grammar.matches(tokens):
        tokens = tuple(repaired(token, grammar) for token in tokens)
    return Utterance(hypotheses=(Hypothesis(words=tokens),) if tokens else (), typed=True, source=text)


def tokenised(text: str) -> tuple[str, ...]:
    """Lower-case words and numerals. "1500psi" is two tokens, "1,500" one, "120/80" three, "-5" is "minus 5"."""
    line = text.lower()
    for pattern, replacement in _REWRITES:
        line = pattern.sub(replacement, line)
    return tuple(token.strip("'") for token in _TOKEN.findall(line))


def repaired(token: str, grammar: Grammar) -> str:
    """The one word of the grammar that the token misspells, or the token itself; never to or from a number or unit."""
    if token in grammar.words() or not token.isalpha():
        return token
    near = _nearest(token, _words_of(grammar))
    exempt = _numbers_and_units(grammar)
    return near[0] if len(near) == 1 and near[0] not in exempt else token


def _nearest(token: str, words: Sequence[str]) -> list[str]:
    """The words fewest slips away, where that is few enough for their length."""
    from rapidfuzz.distance import OSA

    slips = {word: OSA.distance(token, word, score_cutoff=2) for word in words}
    fewest = min(slips.values(), default=3)
    return [word for word, count in slips.items() if count == fewest and count <= _forgiven(token, word)]


def _forgiven(token: str, word: str) -> int:
    longer = max(len(token), len(word))
    if longer < MISSPELT_FROM or token[0] != word[0]:
        return 0
    return 2 if min(len(token), len(word)) >= TWO_SLIPS_FROM else 1


UNIT_RULES = ("psi", "bar", "mpa", "kpa", "litres", "a_minute", "minutes_word", "hours_word", "height_unit", "degrees", "minus")
"""Rules of the grammar whose words are units or signs of numbers: nothing is repaired onto these."""


@lru_cache(maxsize=4)
def _words_of(grammar: Grammar) -> tuple[str, ...]:
    return tuple(word for word in sorted(grammar.words()) if word.isalpha())


@lru_cache(maxsize=4)
def _numbers_and_units(grammar: Grammar) -> frozenset[str]:
    rules = ("number_word", *UNIT_RULES)
    return frozenset(word for word in grammar.words() if any(grammar.matches((word,), rule=rule) for rule in rules))
