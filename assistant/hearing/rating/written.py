"""A spoken sentence as somebody would write it down: takes lower-case words, gives one or two lines of text.

A model that learned from transcripts writes "Gauge reads 1500" as often as "Gauge reads fifteen hundred", so both
stand for the same words. No mark ends a line: which one it would be says nothing of what was said.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import groupby

_FIGURES = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
_TEENS = ["ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
_TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
BELOW_TWENTY = {word: value for value, word in enumerate([*_FIGURES, *_TEENS])} | {"oh": 0}
TENS = {word: 10 * value for value, word in enumerate(_TENS, 2)}
TIMES = {"hundred": 100, "thousand": 1000}
# How a number is said on the radio, as it is written all the same; and a word's spelling in most transcripts.
SPELT = {
    "fife": "five",
    "niner": "nine",
    "litre": "liter",
    "litres": "liters",
    "metre": "meter",
    "metres": "meters",
    "harbour": "harbor",
    "i": "I",
    "i'm": "I'm",
    "i'd": "I'd",
    "i'll": "I'll",
}


def as_written(words: Sequence[str]) -> tuple[str, ...]:
    """The sentence with its numbers in words, and where it has any, with its numbers in figures."""
    spelt = list(_spelt(words))
    lines = (_line(spelt), _line(_in_figures(spelt)))
    return lines if lines[0] != lines[1] else lines[:1]


def bare(text: str) -> str:
    """The text without marks and capitals, to compare what was written with it."""
    return " ".join(re.sub(r"[^a-z0-9%.' ]|\.(?!\d)", " ", text.lower()).split())


def _spelt(words: Sequence[str]) -> Iterator[str]:
    """The words in their usual spelling; single letters after one another are one word in capitals."""
    for single, run in groupby(words, key=lambda word: len(word) == 1):
        found = list(run)
        if single and found[0] == "a":
            yield found.pop(0)
        if single and len(found) > 1:
            yield "".join(found).upper()
        else:
            yield from (SPELT.get(word, word) for word in found)


def _line(words: Sequence[str]) -> str:
    text = " ".join(words)
    return text[:1].upper() + text[1:]


def _in_figures(words: Sequence[str]) -> list[str]:
    """The words with every run of number words as figures, and "percent" after figures as a sign."""
    written: list[str] = []
    at = 0
    while at < len(words):
        end = _number_ends(words, at)
        if end == at:
            after_figures = words[at] == "percent" and written and written[-1][-1].isdigit()
            if after_figures:
                written[-1] += "%"
            else:
                written.append(words[at])
            at += 1
            continue
        figures = _figures(words[at:end])
        after = _number_ends(words, end + 1) if end < len(words) and words[end] in ("point", "decimal") else end
        if after > end + 1:
            figures += "." + _figures(words[end + 1 : after])
            end = after
        written.append(figures)
        at = end
    return written


def _number_ends(words: Sequence[str], at: int) -> int:
    """Where the run of number words that begins at `at` ends; `at` where none begins there."""
    end = at
    while end < len(words):
        joins = words[end] == "and" and end > at and words[end - 1] in TIMES and _is_number(words[end + 1 : end + 2])
        if not joins and not _is_number(words[end : end + 1]):
            break
        end += 1
    return end


def _is_number(word: Sequence[str]) -> bool:
    return bool(word) and (word[0] in BELOW_TWENTY or word[0] in TENS or word[0] in TIMES)


def _figures(run: Sequence[str]) -> str:
    """The figures of a run of number words: its parts one after the other ("fifteen fifty" 1550, "one oh five" 105)."""
    words = [word for word in run if word != "and"]
    written, at = "", 0
    while at < len(words):
        value, at = _part(words, at)
        written += str(value)
    return written


def _part(words: Sequence[str], at: int) -> tuple[int, int]:
    """One number that is said in one piece, and where it ends: thousands, hundreds and what is below a hundred."""
    value, at = _below_hundred(words, at)
    if words[at : at + 1] == ["thousand"]:
        value, at = (value or 1) * 1000, at + 1
        below, after = _below_hundred(words, at)
        if words[after : after + 1] == ["hundred"]:
            value, at = value + (below or 1) * 100, after + 1
            below, after = _below_hundred(words, at)
        return value + below, after
    if words[at : at + 1] == ["hundred"]:
        below, after = _below_hundred(words, at + 1)
        return (value or 1) * 100 + below, after
    return value, at


def _below_hundred(words: Sequence[str], at: int) -> tuple[int, int]:
    """The number from 0 to 99 that begins at `at` and where it ends; 0 and `at` where none does."""
    word = words[at] if at < len(words) else ""
    if word in TENS:
        figure = BELOW_TWENTY.get(words[at + 1], 0) if at + 1 < len(words) else 0
        return (TENS[word] + figure, at + 2) if 0 < figure < 10 else (TENS[word], at + 1)
    return (BELOW_TWENTY[word], at + 1) if word in BELOW_TWENTY else (0, at)
