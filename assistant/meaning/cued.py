"""One number, and elsewhere in the line a word that says what it is of, in whatever words beside them.

"I got the probe onto his other finger and now it's giving me ninety one." Nobody knows what the other words do to it,
so that such a value is asked for, never taken.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assistant.grammar import Grammar, Node
from assistant.meaning.among import BEGINS_ANEW, MOST_WORDS, STATED, TURNS_ALL
from assistant.meaning.typed import may_be_a_number

NUMBERS = ("pressure_with_unit", "flow_with_unit", "duration", "number_a_minute", "one_over_another", "bare_number")
OF_TIME = "of_time"
DENIES, NO_NUMBER, FEW = "denies", "counts_nothing", "few"
COUNTED, OF_GAS = "counted", "of_gas"
CUES = {
    "of_blood_pressure": ("blood", "pressure"),
    "of_saturation": ("saturation",),
    "of_pulse": ("pulse",),
    "of_breathing": ("breathing", "rate"),
    "of_flow": ("flow",),
    "of_arrival": ("boat", "in"),
    "of_gauge": ("gauge", "reads"),
}
"""Rules of the grammar whose words say what a number is of, and the plain statement that is made of it."""
MAY_BE_FEW = ("of_flow", "of_breathing")
"""Of these a number below ten is worth asking for."""


@dataclass(frozen=True, slots=True)
class _Line:
    tokens: tuple[str, ...]
    grammar: Grammar

    def is_in(self, place: int, rule: str) -> bool:
        """Whether the rule has the word there, be it shortened with another: "boat's"."""
        word = self.tokens[place]
        return any(self.grammar.matches((each,), rule=rule) for each in {word, word.partition("'")[0]})

    def clause(self, first: int, last: int) -> range:
        """The places of the clause that holds those from `first` up to `last`."""
        while first > 0 and not self.is_in(first - 1, BEGINS_ANEW):
            first -= 1
        while last < len(self.tokens) and not self.is_in(last, BEGINS_ANEW):
            last += 1
        return range(first, last)


def stated_by_cue(tokens: Sequence[str], grammar: Grammar, *, overheard: bool = False) -> tuple[Node, ...]:
    """The derivations of the one value that a line tells of, cheapest first; none where it holds no such value.

    None either where another number is left over, where the number's clause denies or tells of the past, or where
    anything in the line is supposed, wished for or asked. `overheard`: "ninety percent" alone may be of anything.
    """
    line = _Line(tuple(tokens), grammar)
    if len(tokens) > MOST_WORDS or (found := _number(line)) is None:
        return ()
    first, last = found
    clause = line.clause(first, last)
    if any(line.is_in(place, TURNS_ALL) for place in range(len(tokens))) or any(
        line.is_in(place, DENIES) for place in clause
    ):
        return ()
    if grammar.matches(line.tokens[last : last + 1], rule=COUNTED) and not grammar.leading(
        line.tokens[last:], rule=OF_GAS
    ):
        return ()
    for rule in _cues(line, first, last, clause, overheard=overheard):
        if _can_be(rule, line, first, last) and (
            derivations := grammar.parse((*CUES[rule], *line.tokens[first:last]), rule=STATED)
        ):
            return derivations
    return ()


def _can_be(rule: str, line: _Line, first: int, last: int) -> bool:
    """Hand-over is told in minutes or hours; two bottles are no pressure, and a fresh one no pulse."""
    if rule == "of_arrival":
        return any(line.is_in(place, OF_TIME) for place in range(first, last))
    return rule in MAY_BE_FEW or last - first > 1 or not line.is_in(first, FEW)


def _number(line: _Line) -> tuple[int, int] | None:
    """Where the only number of the line is, with the unit after it; None where there is none, or more than one."""
    found: tuple[int, int] | None = None
    at = 0
    while at < len(line.tokens):
        count = max(line.grammar.leading(line.tokens[at:], rule=rule) for rule in NUMBERS)
        if passed := _counts_nothing(line, at):
            count = passed
        elif count:
            if found is not None:
                return None
            found = (at, at + count)
        elif may_be_a_number(line.tokens[at], line.grammar):
            return None
        at += count or 1
    return found


def _counts_nothing(line: _Line, at: int) -> int:
    """How many words from there are "this one", and no part of a number."""
    count = line.grammar.leading(line.tokens[at:], rule=NO_NUMBER)
    after = line.tokens[at + count : at + count + 1]
    return 0 if after and may_be_a_number(after[0], line.grammar) else count


def _cues(line: _Line, first: int, last: int, clause: range, *, overheard: bool) -> list[str]:
    """What the number may be of, the likeliest first: by the words of its own clause, the nearest before the others."""
    places = range(len(line.tokens))
    nearest = sorted(places, key=lambda place: (place not in clause, place > last, abs(place - first)))
    rules = [rule for place in nearest for rule in CUES if line.is_in(place, rule)]
    if not overheard and "percent" in line.tokens[first:last]:
        rules.append("of_saturation")
    return list(dict.fromkeys(rules))
