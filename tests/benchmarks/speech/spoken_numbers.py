"""Numbers as people say them: takes a slot's name and a random source; gives a value and the words for it.

The ways of saying (whole hundreds, thousands, pairs, digit by digit, radio digits) are common practice; digit by digit
is the rule of ICAO Annex 10 volume II and ACP 125. Written apart from the grammar on purpose: it measures the grammar.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass

UNITS = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
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
]
TENS = ["_", "_", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
RADIO = {"three": "tree", "four": "fower", "five": "fife", "nine": "niner"}
FLOWS_L_MIN = (0.5, 1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12, 15, 25)  # the default kit's regulator, as the contract gives it
VENTURI_PERCENT = (24, 28, 31, 35, 40, 50, 60)  # the fractions that Venturi masks are sold in


@dataclass(frozen=True, slots=True)
class Spoken:
    """A value and the words it was said in."""

    value: float
    words: str


def cardinal(number: int, *, joined: bool = True) -> str:
    """1550 as "one thousand five hundred and fifty"; `joined` False leaves the "and" out."""
    if number < 20:
        return UNITS[number]
    if number < 100:
        return TENS[number // 10] + (f" {UNITS[number % 10]}" if number % 10 else "")
    size, name = (1000, "thousand") if number >= 1000 else (100, "hundred")
    head, rest = f"{cardinal(number // size, joined=joined)} {name}", number % size
    link = " and " if joined and 0 < rest < 100 else " "
    return (head + link + cardinal(rest, joined=joined)) if rest else head


def digits(number: int, *, radio: bool = False) -> str:
    """1500 as "one five zero zero"; `radio` says fife, niner, tree and fower."""
    words = [UNITS[int(figure)] for figure in str(number)]
    return " ".join(RADIO.get(word, word) if radio else word for word in words)


def hundreds(number: int) -> str:
    """1500 as "fifteen hundred", 1550 as "fifteen fifty", 2000 as "two thousand"."""
    head, rest = divmod(number, 100)
    if number < 1000 or head % 10 == 0 or (rest and rest < 10):
        return cardinal(number)
    return f"{cardinal(head)} {cardinal(rest) if rest else 'hundred'}"


def short_hundreds(number: int) -> str:
    """112 as "one twelve", 140 as "one forty", 100 as "a hundred"."""
    head, rest = divmod(number, 100)
    if number == 100:
        return "a hundred"
    return f"{cardinal(head)} {cardinal(rest)}" if head and rest >= 10 else cardinal(number)


def decimal(value: float) -> str:
    """1.5 as "one point five"."""
    whole, _, part = f"{value:g}".partition(".")
    return f"{cardinal(int(whole))} point {digits(int(part))}" if part else cardinal(int(whole))


def _one_of(rng: random.Random, *ways: Callable[[], str]) -> str:
    return rng.choice(ways)()


def _psi(rng: random.Random) -> Spoken:
    value = rng.randrange(2, 45) * 50
    radio = rng.random() < 0.3
    words = _one_of(
        rng,
        lambda: hundreds(value),
        lambda: hundreds(value),
        lambda: cardinal(value),
        lambda: digits(value, radio=radio),
    )
    return Spoken(value, words)


def _bar(rng: random.Random) -> Spoken:
    value = rng.randrange(2, 41) * 5
    words = _one_of(rng, lambda: short_hundreds(value), lambda: cardinal(value), lambda: digits(value))
    return Spoken(value, words)


def _flow(rng: random.Random, *, among: tuple[float, ...] = FLOWS_L_MIN[1:]) -> Spoken:
    value = rng.choice(among)
    if value >= 10 and rng.random() < 0.25:
        return Spoken(value, digits(int(value)))
    return Spoken(value, decimal(value))


def _two_figures(low: int, high: int, digit_share: float) -> Callable[[random.Random], Spoken]:
    def draw(rng: random.Random) -> Spoken:
        value = rng.randint(low, high)
        spelled = rng.random() < digit_share and value >= 10
        words = digits(value) if spelled else _one_of(rng, lambda: short_hundreds(value), lambda: cardinal(value))
        return Spoken(value, words)

    return draw


def _metres(rng: random.Random) -> Spoken:
    value = rng.randrange(2, 51) * 100
    return Spoken(value, _one_of(rng, lambda: hundreds(value), lambda: cardinal(value)))


def _feet(rng: random.Random) -> Spoken:
    value = rng.randrange(2, 29) * 500
    return Spoken(value, cardinal(value))


SLOTS: dict[str, Callable[[random.Random], Spoken]] = {
    "psi": _psi,
    "bar": _bar,
    "mpa": lambda rng: (lambda value: Spoken(value, decimal(value)))(rng.randrange(20, 200, 5) / 10),
    "flow": _flow,
    "lowflow": lambda rng: _flow(rng, among=(1, 2, 3, 4, 5, 6)),
    "highflow": lambda rng: _flow(rng, among=(10, 12, 15)),
    "sat": _two_figures(68, 100, 0.2),
    "hr": _two_figures(42, 176, 0.2),
    "rr": _two_figures(6, 44, 0.1),
    "sys": _two_figures(72, 206, 0.1),
    "dia": _two_figures(40, 68, 0.1),
    "min": _two_figures(5, 120, 0.1),
    "pct": lambda rng: (lambda value: Spoken(value, cardinal(value)))(rng.choice(VENTURI_PERCENT)),
    "cyl": lambda rng: (lambda value: Spoken(value, UNITS[value]))(rng.randint(1, 4)),
    "warm": _two_figures(1, 39, 0.0),
    "cold": _two_figures(1, 29, 0.0),
    "metres": _metres,
    "feet": _feet,
}


def draw(slot: str, rng: random.Random) -> Spoken:
    """A value for the slot; a trailing figure in its name ("psi2") only tells two slots of a kind apart.

    Raises KeyError for a slot of no known kind. "cyl2" never draws cylinder one: it is the one changed to.
    """
    spoken = SLOTS[slot.rstrip("0123456789")](rng)
    while slot == "cyl2" and spoken.value == 1:
        spoken = SLOTS["cyl"](rng)
    return spoken
