"""Typed numerals as the words that would have been said. The words are those of the grammar's own tags."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache

from assistant.grammar import Grammar
from assistant.meaning.numbers import HUNDRED, POINT, THOUSAND, tags

LONGEST_IN_THOUSANDS = 999_999
"""Beyond this a number is said digit by digit."""


def in_words(tokens: Sequence[str], grammar: Grammar) -> str:
    """The tokens as words: 1500 is "fifteen hundred", 2.5 "two point five"; words stay as they are."""
    words = _words_by_tag(grammar)
    return " ".join(word for token in tokens for word in _said(token, words))


def _said(token: str, words: Mapping[str, str]) -> Iterator[str]:
    whole, point, digits = token.partition(".")
    if not whole.isdigit() or not (digits.isdigit() or not point):
        yield token
        return
    yield from _whole(whole, words)
    if point:
        yield words[POINT]
        yield from (words[digit] for digit in digits)


def _whole(numeral: str, words: Mapping[str, str]) -> Iterator[str]:
    number = int(numeral)
    if number > LONGEST_IN_THOUSANDS or numeral != str(number):
        yield from (words[digit] for digit in numeral)
    elif 1000 < number < 10_000 and number % 1000 >= 100:
        yield from _with_rest(number, 100, words[HUNDRED], words)
    elif number >= 1000:
        yield from _with_rest(number, 1000, words[THOUSAND], words)
    elif number >= 100:
        yield from _with_rest(number, 100, words[HUNDRED], words)
    else:
        yield from _to_99(number, words)


def _with_rest(number: int, size: int, name: str, words: Mapping[str, str]) -> Iterator[str]:
    """So many hundreds or thousands, and what is left over."""
    many, rest = divmod(number, size)
    yield from _whole(str(many), words)
    yield name
    if rest:
        yield from _whole(str(rest), words)


def _to_99(number: int, words: Mapping[str, str]) -> Iterator[str]:
    if str(number) in words:
        yield words[str(number)]
    else:
        yield words[str(number // 10 * 10)]
        yield words[str(number % 10)]


@lru_cache(maxsize=4)
def _words_by_tag(grammar: Grammar) -> Mapping[str, str]:
    """The likeliest word for each tag of the grammar's number words."""
    found: dict[str, tuple[float, str]] = {}
    for word in grammar.words():
        for derivation in grammar.parse((word,), rule="number_word", limit=1):
            for tag in tags(derivation):
                found[tag] = min(found.get(tag, (derivation.cost, word)), (derivation.cost, word))
    return {tag: word for tag, (_, word) in found.items()}
