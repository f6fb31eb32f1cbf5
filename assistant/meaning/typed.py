"""Typed text becomes an utterance: numerals and words apart, misspelt words repaired; never a number, never a unit."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable
from functools import lru_cache
from typing import NamedTuple

from assistant.grammar import Grammar
from assistant.utterance import Hypothesis, Utterance

UNREADABLE = "unreadable"
"""Stands for a sign that may be a number in a script that nobody here reads."""
_UNREADABLE = f" {UNREADABLE} "


def _ascii(found: re.Match[str]) -> str:
    """A digit of any script as its own, a letter without its accent.

    What is lost so, a letter of another script or a sign for a number such as "⅓", is a word that no rule knows: it
    leaves a trace in a note, and takes the meaning from everything else.
    """
    character = found.group()
    if character.isdecimal():
        return str(int(character))
    if unicodedata.combining(character):
        return ""
    if character.isalpha():
        bare = "".join(c for c in unicodedata.normalize("NFKD", character) if not unicodedata.combining(c))
        return bare if bare.isascii() and bare.isalpha() else _UNREADABLE
    return _UNREADABLE if unicodedata.numeric(character, None) is not None else character


_Rewrite = tuple[re.Pattern[str], str | Callable[[re.Match[str]], str]]
_REWRITES: tuple[_Rewrite, ...] = tuple(
    (re.compile(pattern), replacement)
    for pattern, replacement in (
        (r"[’‘`]", "'"),
        (r"(?<=o)[₂²]", "2"),
        (r"−", "-"),
        (r"½(?=[.,]?[\d½])", _UNREADABLE),
        (r"(\d)\s*½", r"\1.5"),
        (r"½", " 0.5"),
        (r"[^\x00-\x7f]", _ascii),
        (rf"(?:{_UNREADABLE})+", _UNREADABLE),
        (r"\b((?:[a-z]\.){2,})", lambda found: found.group(1).replace(".", "") + " "),
        (r"(?<![\d.,])(\d{1,3}(?:,\d{3})+)(?![\d,])", lambda found: found.group(1).replace(",", "")),
        (r"(?<=[a-z])\.(?=\d)", _UNREADABLE),
        (r"(?<![\d.])\.(?=\d)", "0."),
        (r"(?<![a-z\d])(\d+)([a-z]+)(?=\d)", r"\1 \2 "),
        (r"(\d)\s*/\s*(?=\d)", r"\1 over "),
        (r"(\d)\s*(?:-|–|—)\s*(?=\d)", r"\1 to "),
        (r"(?<![\w.])-\s?(?=\d)", " minus "),
        (r"/", " per "),
        (r"%", " percent "),
        (r"°", " degrees "),
    )
)
_TOKEN = re.compile(r"\d(?:[\d.,]*\d)?|[a-z][a-z0-9']*")
"""What is not quite a numeral, like "2,5", stays one token, which no rule knows."""
MOST_CHARACTERS, MOST_WORDS = 1_000, 100
"""Of one line, so that the answer to any is there in 50 ms; beyond that it is no utterance but something pasted."""
MISSPELT_FROM = 5
"""Letters of the longer of two words below which nothing is repaired: shorter words are too alike. Our choice."""
TWO_SLIPS_FROM = 8
"""Letters from which two slips of the finger are forgiven instead of one. Our choice."""


def typed(text: str, grammar: Grammar) -> Utterance:
    """The utterance of one typed line, certain of its words; empty where there are none, or far too many."""
    tokens = tokenised(text) if len(text) <= MOST_CHARACTERS else ()
    if len(tokens) > MOST_WORDS:
        tokens = ()
    if tokens and not grammar.matches(tokens):
        tokens = tuple(word for token in tokens for word in written_out(token, grammar))
        tokens = tuple(repaired(token, grammar) for token in tokens)
        apart = tuple(word for token in tokens for word in _apart(token, grammar))
        tokens = tokens if grammar.matches(tokens) or not grammar.matches(apart) else apart
    return Utterance(hypotheses=(Hypothesis(words=tokens),) if tokens else (), typed=True, source=text)


_SHORTENED = {"'s": "is", "'re": "are", "'ve": "have", "'ll": "will", "'m": "am"}


def written_out(token: str, grammar: Grammar) -> tuple[str, ...]:
    """A shortening that the grammar has not, as its two words: "gauge's" is "gauge is"."""
    return (token,) if token in _vocabulary(grammar).typed else _apart(token, grammar)


def _apart(token: str, grammar: Grammar) -> tuple[str, ...]:
    """A shortening as its two words, though the grammar may have it elsewhere. No number: "seventy's" is not 70."""
    stem, mark, rest = token.partition("'")
    vocabulary = _vocabulary(grammar)
    if stem not in vocabulary.typed or stem in vocabulary.exempt or mark + rest not in _SHORTENED:
        return (token,)
    return (stem, _SHORTENED[mark + rest])


def tokenised(text: str) -> tuple[str, ...]:
    """Lower-case words and numerals. "1500psi" is two tokens, "1,500" one, "120/80" three, "-5" is "minus 5"."""
    line = text.lower()
    for pattern, replacement in _REWRITES:
        line = pattern.sub(replacement, line)
    return tuple(token.strip("'") for token in _TOKEN.findall(line))


def repaired(token: str, grammar: Grammar) -> str:
    """The one word of the grammar that the token misspells, or the token itself; never to or from a number or unit.

    Words that can be said go before those that can only be typed.
    """
    vocabulary = _vocabulary(grammar)
    if token in vocabulary.typed or not token.isalpha():
        return token
    near = _nearest(token, vocabulary.spoken) or _nearest(token, vocabulary.typed)
    exempt = vocabulary.exempt.intersection(near)
    return near[0] if len(near) == 1 and not exempt else token


def _nearest(token: str, words: Iterable[str]) -> list[str]:
    """The words fewest slips away, where that is few enough for their length."""
    from rapidfuzz import process
    from rapidfuzz.distance import OSA

    # The stub knows scorers of fractions alone.
    found = process.extract(token, words, scorer=OSA.distance, score_cutoff=2, limit=None)  # type: ignore[arg-type]
    fewest = min((slips for _, slips, _ in found), default=3)
    return [word for word, slips, _ in found if slips == fewest and slips <= _forgiven(token, word)]


def _forgiven(token: str, word: str) -> int:
    longer = max(len(token), len(word))
    if longer < MISSPELT_FROM or token[0] != word[0]:
        return 0
    return 2 if min(len(token), len(word)) >= TWO_SLIPS_FROM else 1


def may_be_a_number(token: str, grammar: Grammar) -> bool:
    """Whether the token is part of a number or a unit, or might be one misspelt."""
    exempt = _vocabulary(grammar).exempt
    if token in LIKE_NUMBERS:
        return False
    if token.partition("'")[0] in exempt or token == UNREADABLE or any(character.isdigit() for character in token):
        return True
    return bool(_nearest(token, exempt)) or _nearly(token, exempt)


def _nearly(token: str, words: Iterable[str]) -> bool:
    """One slip apart, be it in the first letter: of longer words alone, as shorter ones are too alike."""
    from rapidfuzz import process
    from rapidfuzz.distance import OSA

    longer = [word for word in words if len(word) >= TWO_SLIPS_FROM - 1]
    return process.extractOne(token, longer, scorer=OSA.distance, score_cutoff=1) is not None


UNIT_RULES = (
    *("psi", "bar", "mpa", "pascal_word", "kpa", "litres", "a_minute"),
    *("minutes_word", "hours_word", "height_unit", "degrees", "minus", "cylinder_ordinal", "patient_ordinal"),
)
"""Rules of the grammar whose words are units, signs of numbers or ordinals: nothing is repaired onto these."""
LIKE_NUMBERS = ("there", "there's")
"""Too common to be taken for a slip: "there" is one from "three"."""
PARTS = ("half", "quarter", "quarters")
"""Words of numbers in which no rule of their own begins."""


class _Vocabulary(NamedTuple):
    spoken: frozenset[str]
    typed: frozenset[str]
    exempt: frozenset[str]
    """Number words and units."""


@lru_cache(maxsize=4)
def _vocabulary(grammar: Grammar) -> _Vocabulary:
    every = frozenset(grammar.words(typed=True))
    rules = ("number_word", *UNIT_RULES)
    exempt = (word for word in every if any(grammar.matches((word,), rule=rule) for rule in rules))
    return _Vocabulary(spoken=frozenset(grammar.words()), typed=every, exempt=frozenset((*exempt, *PARTS)))
