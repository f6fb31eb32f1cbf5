"""Whether a reading's numbers are those that were said: none invented, none bent, no figure of one left out.

Takes a line of text and the meanings it was given; gives what is wrong, in words, or None. Conversions (feet, °F,
kPa, hours) are undone here with figures of their own.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import isclose

from assistant.meaning import kinds as k
from assistant.quantity import Measure
from tests.fuzz.numbers_in_words import JOINING, LONGEST_NUMBER, is_number_word, numbers, words_of

ORDINALS = {"first": 1.0, "second": 2.0, "third": 3.0, "fourth": 4.0, "other": 2.0}
TAKING_BACK = {
    "no",
    "correction",
    "mean",
    "make",
    "sorry",
    "wait",
    "not",
    "meant",
    "negative",
    "wrong",
    "undo",
    "cancel",
    "scratch",
    "scrap",
    "strike",
    "disregard",
    "ignore",
    "forget",
    "delete",
    "take",
    "incorrect",
    "correct",
    "mistake",
    "misread",
    "misspoke",
    "false",
    "actually",
}
"""Where one of these was said, a number may stand that was taken back."""
PHRASES = (("ten", "four"),)
"""Fixed words that are no number."""
NAMELESS_ONE = {
    "first",
    "second",
    "third",
    "fourth",
    "other",
    "the",
    "last",
    "that",
    "this",
    "another",
    "back",
    "previous",
    "next",
    "new",
    "fresh",
    "full",
    "spare",
}
"""After these "one" is no number: "the second one", "back one"."""
NO_NUMBER_AFTER = {"o", "below"}
"""Oxygen ("o two"), and "ten below zero"."""
HOURS = {"hour", "hours", "h", "hr", "hrs"}
FEET = {"feet", "ft", "foot"}
FAHRENHEIT = {"fahrenheit", "f"}
KILOPASCAL = {"kpa", "kilopascal", "kilopascals"}
NOTHING = {"empty", "off", "shut", "sea"}
Ways = tuple[tuple[float, ...], ...]
"""The ways in which a value can have been said: the numbers of each."""


def fault(text: str, understood: Sequence[str], meanings: Sequence[k.Meaning], names: frozenset[str]) -> str | None:
    """What is wrong with the numbers of `meanings`; `understood` are the words they were read from, repaired.

    `names` are the kit's words for its cylinders, after which "one" is no number.
    """
    words = _as_understood(words_of(text), understood)
    said = frozenset(words) | frozenset(understood)
    taken_back = bool(said & TAKING_BACK) or any(map(_free_words, meanings))
    spoken = _spoken(words)
    wanted = [(value, ways) for meaning in meanings for value, ways in _numbers_of(meaning, said, spoken)]
    explained = frozenset(number for _, ways in wanted for way in ways for number in way)
    runs = tuple(_runs(words))
    accounted = [_segmented(words, start, end, explained, names) for start, end in runs]
    present = {
        number for run in accounted for stop, found in run.items() for number in found if stop == -1 or taken_back
    }
    present |= {ORDINALS[word] for word in words if word in ORDINALS} | _unsaid(words, said)
    for value, ways in wanted:
        if not any(all(_among(number, present) for number in way) for way in ways):
            return f"{value:g} was not said"
    if taken_back:
        return None
    for (start, end), run in zip(runs, accounted, strict=True):
        before = words[start - 1] if start else ""
        if -1 not in run and before != "from":  # "dropped from ninety four to eighty eight"
            return f"“{' '.join(words[start:end])}” was lost"
    return None


def _free_words(meaning: k.Meaning) -> bool:
    """Whether it holds words that stand for nothing but themselves."""
    return isinstance(meaning, k.Note) or (isinstance(meaning, k.Step) and meaning.reason is not None)


def _as_understood(words: tuple[str, ...], understood: Sequence[str]) -> tuple[str, ...]:
    """The words, their spelling repaired where they are no numbers."""
    if len(words) != len(understood):
        return words
    pairs = zip(words, understood, strict=True)
    return tuple(own if is_number_word(own) or is_number_word(other) else other for own, other in pairs)


def _among(number: float, present: set[float]) -> bool:
    return number in present or any(isclose(number, other, rel_tol=1e-9, abs_tol=1e-9) for other in present)


def _unsaid(words: tuple[str, ...], said: frozenset[str]) -> set[float]:
    """Numbers without a number word: empty, off and sea level are 0; "a litre", "an hour" 1."""
    found = {0.0} if said & NOTHING else set()
    one = {"litre", "liter", "l", *HOURS}
    if any(first in ("a", "an") and after in one for first, after in pairwise(words)):
        found.add(1.0)
    return found


def _runs(words: Sequence[str]) -> Iterator[tuple[int, int]]:
    """Stretches of number words with what joins them; every number word is in one of them."""
    at = 0
    while at < len(words):
        start = at
        while at < len(words) and (is_number_word(words[at]) or words[at] in JOINING):
            at += 1
        if any(is_number_word(word) for word in words[start:at]):
            yield start, at
        at = max(at, start + 1)


def _segmented(
    words: Sequence[str], start: int, end: int, explained: frozenset[float], names: frozenset[str]
) -> dict[int, frozenset[float]]:
    """The explained numbers into which the run can be cut, up to each place; at -1, where all of it can be."""
    reached: dict[int, frozenset[float]] = {start: frozenset()}
    for at in range(start, end):
        if at not in reached:
            continue
        if words[at] in JOINING or _no_number(words, at, names):
            reached.setdefault(at + 1, frozenset())
            reached[at + 1] |= reached[at]
        for stop in range(at + 1, min(end, at + LONGEST_NUMBER) + 1):
            for value in numbers(tuple(words[at:stop])):
                if _among(value, set(explained)):
                    reached.setdefault(stop, frozenset())
                    reached[stop] |= reached[at] | {value}
    return {**reached, -1: reached[end]} if end in reached else reached


def _no_number(words: Sequence[str], at: int, names: frozenset[str]) -> bool:
    before = words[at - 1] if at else ""
    after = words[at + 1] if at + 1 < len(words) else ""
    if (words[at], after) in PHRASES or (before, words[at]) in PHRASES:
        return True
    if words[at] == "one":
        return before in NAMELESS_ONE or before in names or after in ("before", "back", "wrong", "step", "more")
    return before in NO_NUMBER_AFTER or (words[at] == "two" and before == "last")


def _spoken(words: tuple[str, ...]) -> frozenset[float]:
    """Every number that some stretch of the words can stand for."""
    stretches = (
        words[start:stop]
        for start, end in _runs(words)
        for start in range(start, end)
        for stop in range(start + 1, min(end, start + LONGEST_NUMBER) + 1)
    )
    return frozenset(value for stretch in stretches for value in numbers(stretch))


def _numbers_of(meaning: k.Meaning, said: frozenset[str], spoken: frozenset[float]) -> Iterator[tuple[float, Ways]]:
    for name in ("cylinder", "patient"):
        called = getattr(meaning, name, None)
        if called is not None:
            yield float(called), _plain(float(called))
    match meaning:
        case k.GaugeReading():
            value = meaning.pressure.value
            yield value, ((1000 * value,), (value,)) if said & KILOPASCAL else _plain(value)
        case k.FlowRate() | k.Question(flow=Measure()):
            assert meaning.flow is not None
            yield meaning.flow.value, _with_parts(meaning.flow.value)
        case k.DeliveryDevice(oxygen_percent=int(percent)):
            yield percent, _plain(percent)
        case k.VitalSign(value=int(value)):
            yield value, _plain(value)
        case k.TargetSaturation():
            yield from ((end, _plain(end)) for end in (meaning.low, meaning.high))
        case k.Altitude():
            value = meaning.metres
            yield value, (*(((value / 0.3048,),) if said & FEET else ()), *_plain(value))
        case k.Temperature():
            value = meaning.celsius
            fahrenheit = value * 9 / 5 + 32
            both = (*(((fahrenheit,), (-fahrenheit,)) if said & FAHRENHEIT else ()), (value,), (-value,))
            yield value, both
        case k.TimeToHandover():
            yield meaning.minutes, _durations(meaning.minutes, said, spoken)
        case k.Answer(choice=int(choice)):
            yield choice, _plain(choice)
        case k.BareNumber():
            yield meaning.value, _with_parts(meaning.value)


def _plain(value: float) -> Ways:
    return ((float(value),),)


def _with_parts(value: float) -> Ways:
    """Also as a whole and a part on both sides of the unit: "a litre and a half"."""
    return ((value,), *((value - part, part) for part in (0.25, 0.5, 0.75) if value > part))


def _durations(minutes: float, said: frozenset[str], spoken: frozenset[float]) -> Ways:
    """As minutes, or as hours and what is left over."""
    if not said & HOURS:
        return _plain(minutes)
    pairs = ((hours, rest) for hours in {*spoken, 1.0} for rest in spoken)
    mixed = tuple(pair for pair in pairs if isclose(60 * pair[0] + pair[1], minutes, rel_tol=1e-12))
    return ((minutes,), *_with_parts(minutes / 60), *mixed)
