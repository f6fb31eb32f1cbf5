"""A pending choice and what was said after it: the choice made, a fresh value, or something else altogether."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from assistant.dialogue.sense import corrected_by, number_as
from assistant.incident.state import Pending, State
from assistant.meaning import kinds as k
from assistant.meaning.contract import from_json


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """The pending question is answered: `meanings` go in force, with `confirmed` ones exempt from further doubt.

    `waiting` was offered together with what a fresh value now replaces, and nobody said yes to it.
    """

    meanings: tuple[k.Meaning, ...]
    confirmed: tuple[k.Meaning, ...]
    waiting: tuple[k.Meaning, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Denied:
    """ "No": none of the choices; a fresh value is to be asked for, with `rest` waiting, or all of it again."""

    about: str
    rest: tuple[k.Meaning, ...]
    subject: str | None = None
    all_again: bool = False


def settled(meanings: tuple[k.Meaning, ...], state: State) -> Settled | Denied | None:
    """What `meanings` do to the pending question; None where they do not answer it."""
    pending = state.question
    if pending is None or not meanings:
        return None
    if any(isinstance(m, k.CylinderChange) for m in meanings):
        return None  # what is said with a change is about the new cylinder, not about the one asked for
    choices = tuple(from_json(c) for c in pending.choices)
    rest = tuple(from_json(r) for r in pending.rest)
    first, others = meanings[0], meanings[1:]
    if isinstance(first, k.Correction) and _of_the_last(others, state):
        return None
    if choices and others and _denies(first) and (told := settled(others, state)) is not None:
        return told  # "no, seventeen hundred": neither of the two, but this
    if isinstance(first, k.Answer) and choices:
        return _by_answer(first, choices, (*rest, *others), pending)
    fresh = _fresh_value(meanings, choices, pending, state)
    if fresh is None:
        return None
    meaning, remaining = fresh
    confirmed = (meaning,) if meaning in choices else ()
    for said in (meaning, *remaining):
        rest = _without(rest, said)
    waiting = rest if pending.together else ()
    return Settled(meanings=(meaning, *(() if waiting else rest), *remaining), confirmed=confirmed, waiting=waiting)


def _of_the_last(others: tuple[k.Meaning, ...], state: State) -> bool:
    """Whether a corrected number is of the value taken since the question, and no answer to it."""
    return bool(others) and isinstance(others[0], k.BareNumber) and corrected_by(others[0], state) is not None


def is_confirmed(meaning: k.Meaning, confirmed: tuple[k.Meaning, ...]) -> bool:
    """Whether it is one of those confirmed, be it that its cylinder or patient was filled in since."""
    return any(_filled_in_like(meaning, one) == meaning for one in confirmed)


def _filled_in_like(meaning: k.Meaning, one: k.Meaning) -> k.Meaning:
    change: dict[str, Any] = {
        name: getattr(meaning, name, None)
        for name in ("cylinder", "patient")
        if hasattr(one, name) and getattr(one, name) is None
    }
    return replace(one, **change)


def _denies(meaning: k.Meaning) -> bool:
    return isinstance(meaning, k.Correction) or (isinstance(meaning, k.Answer) and not meaning.yes)


def _by_answer(
    answer: k.Answer, choices: tuple[k.Meaning, ...], rest: tuple[k.Meaning, ...], pending: Pending
) -> Settled | Denied:
    if answer.choice is not None and answer.choice <= len(choices):
        chosen = choices[answer.choice - 1]
    elif answer.yes:
        chosen = choices[0]
    elif pending.together and rest:
        return Denied(about=choices[0].kind, rest=(), subject=pending.subject, all_again=True)
    else:
        return Denied(about=choices[0].kind, rest=rest, subject=pending.subject)
    return Settled(meanings=(chosen, *rest), confirmed=(chosen,))


def _fresh_value(
    meanings: tuple[k.Meaning, ...], choices: tuple[k.Meaning, ...], pending: Pending, state: State
) -> tuple[k.Meaning, tuple[k.Meaning, ...]] | None:
    """A bare number, or a value of the kind asked about; with the meanings beside it."""
    for index, meaning in enumerate(meanings):
        others = meanings[:index] + meanings[index + 1 :]
        if pending.about == "cylinder_change" and (named := _bottle_named(meaning)) is not None:
            return k.CylinderChange(cylinder=named, patient=pending.subject), others
        if isinstance(meaning, k.BareNumber):
            sense = _number_as_asked(meaning, choices, pending, state)
            if sense is not None:
                return sense, others
        elif any(_same_kind(meaning, c) for c in choices) or (not choices and _answers(meaning, pending)):
            return _named_like(meaning, choices, pending), others
    return None


def _bottle_named(meaning: k.Meaning) -> str | None:
    """The bottle that "bottle three", or a bare small number, names."""
    if isinstance(meaning, k.Attend | k.CylinderChange):
        return meaning.cylinder
    if isinstance(meaning, k.BareNumber) and meaning.unit is None and 1 <= meaning.value <= 20:
        return str(int(meaning.value)) if meaning.value == int(meaning.value) else None
    return None


def _number_as_asked(
    number: k.BareNumber, choices: tuple[k.Meaning, ...], pending: Pending, state: State
) -> k.Meaning | None:
    kinds = [getattr(c, "sign", None) or c.kind for c in choices] or [pending.about]
    for kind in kinds:
        sense = number_as(kind, number, state)
        if sense is not None:
            return _named_like(sense, choices, pending)
    return None


def settled_number(number: k.BareNumber, pending: Pending, state: State) -> k.Meaning | None:
    """The meaning of a bare number as an answer to the pending question; None where it cannot be one."""
    return _number_as_asked(number, tuple(from_json(c) for c in pending.choices), pending, state)


def _same_kind(a: k.Meaning, b: k.Meaning) -> bool:
    return a.kind == b.kind and getattr(a, "sign", None) == getattr(b, "sign", None)


def _answers(meaning: k.Meaning, pending: Pending) -> bool:
    return pending.about in (meaning.kind, getattr(meaning, "sign", None))


def _named_like(meaning: k.Meaning, choices: tuple[k.Meaning, ...], pending: Pending) -> k.Meaning:
    """The fresh value is about the same cylinder or patient as the one asked about."""
    like = next((c for c in choices if _same_kind(c, meaning)), None)
    if isinstance(meaning, k.GaugeReading | k.CylinderSize) and meaning.cylinder is None:
        named = pending.subject if like is None else getattr(like, "cylinder", None)
        return replace(meaning, cylinder=named)
    if isinstance(meaning, k.FlowRate | k.DeliveryDevice | k.VitalSign) and meaning.patient is None:
        return replace(meaning, patient=getattr(like, "patient", None))
    return meaning


def _without(rest: tuple[k.Meaning, ...], meaning: k.Meaning) -> tuple[k.Meaning, ...]:
    return tuple(m for m in rest if not _same_kind(m, meaning))
