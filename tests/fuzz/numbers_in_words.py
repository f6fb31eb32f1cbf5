"""Which numbers a typed line holds, read a second time and apart from the product, to find a value that nobody said.

Takes a line of text; gives, for a stretch of its words, the numbers that these can stand for together. English as
people and radio operators say it: cardinals, digits one by one, pairs ("eighteen fifty"), decimals, halves.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from functools import lru_cache

UNITS = {
    **{
        word: value
        for value, word in enumerate(["one", "two", "three", "four", "five", "six", "seven", "eight", "nine"], 1)
    },
    "tree": 3,
    "fower": 4,
    "fife": 5,
    "niner": 9,
}
NOUGHTS = ("zero", "oh", "nought", "nil")
TEENS = {
    word: value
    for value, word in enumerate(
        ["ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"],
        10,
    )
}
TENS = {
    word: 10 * value
    for value, word in enumerate(["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"], 2)
}
PARTS = {("half",): 0.5, ("a", "half"): 0.5, ("quarter",): 0.25, ("a", "quarter"): 0.25, ("three", "quarters"): 0.75}
SIZES = {"hundred": 100, "thousand": 1000}
CORE = {*UNITS, *NOUGHTS, *TEENS, *TENS, *SIZES, "point", "decimal", "half", "quarter", "quarters"}
JOINING = {"a", "an", "and", "minus"}
"""Words that belong to a number only beside one."""
LONGEST_NUMBER = 12

_NUMERAL = re.compile(r"\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d+)?")
_TOKEN = re.compile(r"\d(?:[\d.,]*\d)?|[a-z][a-z0-9']*")


def words_of(text: str) -> tuple[str, ...]:
    """Lower-case words and numerals of the line; "-5" is "minus", "5"; "½" is "0.5"."""
    bare = (unicodedata.normalize("NFKD", sign) if sign.isalpha() else sign for sign in text.lower())
    text = "".join(character for sign in bare for character in sign if not unicodedata.combining(character))
    line = re.sub(r"(\d)\s*½", r"\1.5", text).replace("½", " 0.5 ")
    line = re.sub(r"\b((?:[a-z]\.){2,})", lambda found: found.group(1).replace(".", "") + " ", line)
    line = re.sub(r"(?<![a-z\d])(\d[\d.,]*)([a-z]+)(?=\d)", r"\1 \2 ", line)
    line = re.sub(r"(?<![\w.])[-−]\s?(?=\.?\d)", " minus ", line)
    line = re.sub(r"(?<![\d.])\.(?=\d)", "0.", line)
    return tuple(token.strip("'") for token in _TOKEN.findall(line))


def is_number_word(word: str) -> bool:
    """Whether the word is (part of) a number wherever it stands."""
    return word in CORE or word[:1].isdigit()


@lru_cache(maxsize=100_000)
def numbers(words: tuple[str, ...]) -> frozenset[float]:
    """All the values that these words, every one of them, can stand for as one number."""
    if words and words[0] == "minus":
        return frozenset(-value for value in numbers(words[1:]))
    found = {*_numeral(words), *_cardinal(words), *_figures(words), *_decimal(words), *_with_a_part(words)}
    return frozenset(found)


def _numeral(words: tuple[str, ...]) -> Iterator[float]:
    if len(words) == 1 and _NUMERAL.fullmatch(words[0]):
        yield float(words[0].replace(",", ""))


def _below_100(words: Sequence[str]) -> int | None:
    match tuple(words):
        case (one,):
            return UNITS.get(one) or TEENS.get(one) or TENS.get(one)
        case (tens, one) if tens in TENS and one in UNITS:
            return TENS[tens] + UNITS[one]
    return None


def _cardinal(words: Sequence[str]) -> Iterator[float]:
    """ "fifteen hundred and fifty", "a thousand", "two thousand four hundred"."""
    if len(words) == 1 and words[0] in NOUGHTS:
        yield 0.0
    value = _thousands(words)
    if value is not None:
        yield float(value)


def _thousands(words: Sequence[str]) -> int | None:
    if "thousand" not in words:
        return _hundreds(words)
    at = list(words).index("thousand")
    many, rest = _many(words[:at], _hundreds), _rest(words[at + 1 :], _hundreds)
    return None if many is None or rest is None or rest > 999 else 1000 * many + rest


def _hundreds(words: Sequence[str]) -> int | None:
    if "hundred" not in words:
        return _below_100(words)
    at = list(words).index("hundred")
    many, rest = _many(words[:at], _below_100), _rest(words[at + 1 :], _below_100)
    return None if many is None or rest is None else 100 * many + rest


def _many(words: Sequence[str], read: object) -> int | None:
    return 1 if tuple(words) == ("a",) else read(words)  # type: ignore[operator,no-any-return]


def _rest(words: Sequence[str], read: object) -> int | None:
    if not words:
        return 0
    return read(words[1:] if words[0] == "and" else words)  # type: ignore[operator,no-any-return]


def _figures(words: Sequence[str]) -> Iterator[float]:
    """One after the other: "one five zero zero", "eighteen fifty", "one oh five", "one twenty five"."""
    written, at = "", 0
    while at < len(words):
        two = _below_100(words[at : at + 2]) if at + 1 < len(words) else None
        value = two if two is not None else _below_100(words[at : at + 1])
        if value is None and words[at] not in NOUGHTS:
            return
        written, at = written + str(value or 0), at + (2 if two is not None else 1)
    if len(words) > 1 and len(written) > 1:
        yield float(written)


def _decimal(words: tuple[str, ...]) -> Iterator[float]:
    at = next((i for i, word in enumerate(words) if word in ("point", "decimal")), None)
    if at is None:
        return
    digits = "".join(str(UNITS.get(word, 0)) for word in words[at + 1 :] if word in UNITS or word in NOUGHTS)
    if not digits or len(digits) != len(words) - at - 1:
        return
    for whole in numbers(words[:at]) if at else (0.0,):
        yield float(f"{whole:.0f}.{digits}")


def _with_a_part(words: tuple[str, ...]) -> Iterator[float]:
    for said, part in PARTS.items():
        if words == said:
            yield part
        ending = ("and", *said)
        if words[-len(ending) :] == ending:
            yield from (whole + part for whole in numbers(words[: -len(ending)]))
