"""Numbers as they are read back: in a form that is not mistaken for its neighbour.

Fifteen and fifty, sixteen and sixty sound alike in noise, so every number from ten up is said digit by digit
("one five"), whole hundreds excepted ("fifteen hundred"), which have no such neighbour.
"""

from __future__ import annotations

import math
import re

_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_BELOW_TWENTY = (
    *_DIGITS,
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
)
_TENS = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
# Radio practice, from the ICAO spelling alphabet (Annex 10 Volume II).
LETTERS = {
    "A": "alfa",
    "B": "bravo",
    "C": "charlie",
    "D": "delta",
    "E": "echo",
    "F": "foxtrot",
    "G": "golf",
    "H": "hotel",
    "I": "india",
    "J": "juliett",
    "K": "kilo",
    "L": "lima",
    "M": "mike",
    "N": "november",
    "O": "oscar",
    "P": "papa",
    "Q": "quebec",
    "R": "romeo",
    "S": "sierra",
    "T": "tango",
    "U": "uniform",
    "V": "victor",
    "W": "whiskey",
    "X": "x-ray",
    "Y": "yankee",
    "Z": "zulu",
}


def cardinal(number: int) -> str:
    """A whole number from 0 to 99,999 in ordinary words."""
    if number < 20:
        return _BELOW_TWENTY[number]
    if number < 100:
        tens, ones = divmod(number, 10)
        return _TENS[tens] + (f" {_DIGITS[ones]}" if ones else "")
    if number < 1000:
        hundreds, rest = divmod(number, 100)
        return f"{_DIGITS[hundreds]} hundred" + (f" {cardinal(rest)}" if rest else "")
    thousands, rest = divmod(number, 1000)
    return f"{cardinal(thousands)} thousand" + (f" {cardinal(rest)}" if rest else "")


def digits(text: str) -> str:
    """The digits of a numeral one by one: "1850" is "one eight five zero", "2.5" is "two point five"."""
    words = {".": "point", "-": "minus"}
    return " ".join(words.get(c) or _DIGITS[int(c)] for c in text)


def said(value: float) -> str:
    """A value read back; whole hundreds from 1,000 up as hundreds, all else digit by digit.

    At most one decimal is said: finer than any gauge or regulator of this trade can be set.
    """
    rounded = round(value, 1)
    if rounded != int(rounded):
        return digits(f"{rounded:.1f}")
    whole = int(rounded)
    if 1000 <= whole < 10_000 and whole % 100 == 0:
        return _hundreds(whole)
    return digits(str(whole))


def _hundreds(whole: int) -> str:
    if whole % 1000 == 0:
        return f"{_DIGITS[whole // 1000]} thousand"
    return f"{cardinal(whole // 100)} hundred"


def counted(number: int, singular: str) -> str:
    """A count in ordinary words with its noun: "one minute", "thirteen minutes"."""
    return f"{cardinal(number)} {singular}{'' if number == 1 else 's'}"


def minutes_said(minutes: float) -> str:
    """Minutes rounded down, with the digits repeated where a neighbour sounds alike: "thirteen minutes, one three"."""
    whole = max(0, math.floor(minutes))
    if whole >= 120:
        hours, rest = divmod(whole, 60)
        tail = f" {counted(rest, 'minute')}" if rest else ""
        return f"{counted(hours, 'hour')}{tail}"
    text = counted(whole, "minute")
    return f"{text}, {digits(str(whole))}," if _sounds_like_another(whole) else text


def _sounds_like_another(whole: int) -> bool:
    return 13 <= whole <= 19 or (whole >= 30 and whole % 10 == 0 and whole < 100)


def spelled(size: str) -> str:
    """A cylinder size for the ear: letters as spelling-alphabet words, numerals as digits ("M15": "mike one five").

    A size by its water capacity is said as litres ("2 L": "two litre").
    """
    litres = re.fullmatch(r"(\d+(?:\.\d+)?) ?l", size.strip().lower())
    if litres is not None:
        return f"{digits(litres.group(1))} litre"
    parts: list[str] = []
    for character in size.upper():
        if character in LETTERS:
            parts.append(LETTERS[character])
        elif character.isdigit():
            parts.append(_DIGITS[int(character)])
        elif character == ".":
            parts.append("point")
    return " ".join(parts)
