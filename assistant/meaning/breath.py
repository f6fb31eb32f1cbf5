"""What was said in one breath, put in order: restarts drop what they take back, and names go to the values they name.

Refuses, by giving nothing, a breath that says two different things of the same quantity: neither may be taken.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace
from typing import Any

from assistant.meaning.kinds import (
    SAID_AGAIN,
    AlarmHeard,
    Altitude,
    Attend,
    BareNumber,
    Correction,
    CylinderChange,
    CylinderSize,
    FlowRate,
    GaugeReading,
    Meaning,
    Problem,
    Question,
    TargetSaturation,
    Temperature,
    TimeToHandover,
    VitalSign,
)

_SINGLE = (GaugeReading, CylinderSize, FlowRate, VitalSign, TimeToHandover, TargetSaturation, Altitude, Temperature)
"""What can have only one value at the end of a breath, for each cylinder or patient."""

_SAID_TWICE = (AlarmHeard, Problem, Question, CylinderSize, CylinderChange)
"""What, said twice in one breath, is said once."""


def in_order(meanings: Sequence[Meaning]) -> tuple[Meaning, ...]:
    """The meanings of one utterance as they stand at its end; none where they contradict each other."""
    said = _once(_supposed(_confirmed(meanings)))
    found = _attributed(_attributed(_restarted(said), "patient"), "cylinder")
    return () if _contradict(found) else found


def given_to(field: str, called: str, meanings: Sequence[Meaning]) -> tuple[Meaning, ...]:
    """The meanings, those that can be about a `field` ("patient", "cylinder") and name none with this one."""
    return tuple(_given(meaning, field, called) if _lacks(meaning, field) else meaning for meaning in meanings)


def _confirmed(meanings: Sequence[Meaning]) -> Sequence[Meaning]:
    """Without a number said again; nothing where it is not the number before it."""
    if not meanings or not (isinstance(meanings[-1], BareNumber) and meanings[-1].unit == SAID_AGAIN):
        return meanings
    again = meanings[-1].value
    return meanings[:-1] if len(meanings) > 1 and _number(meanings[-2]) == again else ()


def _number(meaning: Meaning) -> float | None:
    """The one number of a value, in the unit it was said in; None of what has none, or two."""
    match meaning:
        case GaugeReading(pressure=measure) | FlowRate(flow=measure):
            return measure.value
        case VitalSign(value=int(value)) | TimeToHandover(minutes=value) | Altitude(metres=value):
            return value
        case Temperature(celsius=value):
            return value
    return None


def _supposed(meanings: Sequence[Meaning]) -> Sequence[Meaning]:
    """A flow that is merely named right after "how long" is supposed: it is part of the question, and sets nothing.

    Two of them are no question.
    """
    found: list[Meaning] = []
    for one in meanings:
        asked = found[-1] if found else None
        if isinstance(one, FlowRate) and one.bare and isinstance(asked, Question) and asked.about == "time_remaining":
            if asked.flow not in (None, one.flow):
                return []
            found[-1] = replace(asked, flow=one.flow, patient=one.patient)
        else:
            found.append(replace(one, bare=False) if isinstance(one, FlowRate) else one)
    return found


def _once(meanings: Sequence[Meaning]) -> Sequence[Meaning]:
    """Without what means no more when said twice; of a patient's changes the one that names the cylinder is enough."""
    named = {one.patient for one in meanings if isinstance(one, CylinderChange) and one.cylinder}
    return [
        one
        for i, one in enumerate(meanings)
        if not (isinstance(one, _SAID_TWICE) and one in meanings[:i])
        and not (isinstance(one, CylinderChange) and one.cylinder is None and named and one.patient in (None, *named))
    ]


def _restarted(meanings: Sequence[Meaning]) -> list[Meaning]:
    """Without what was said and taken back in the same breath: "small, correction, large cylinder"."""
    kept: list[Meaning] = []
    for meaning in meanings:
        if len(kept) >= 2 and kept[-1] == Correction() and _thing(kept[-2]) == _thing(meaning):
            del kept[-2:]
        kept.append(meaning)
    return kept


def _thing(meaning: Meaning) -> tuple[str, ...]:
    return (meaning.kind, meaning.sign) if isinstance(meaning, VitalSign) else (meaning.kind,)


def _attributed(meanings: Sequence[Meaning], field: str) -> tuple[Meaning, ...]:
    """Each name goes to the values after it, up to the next name; one that ends the breath, to those before it.

    A name for which there is no value stays: what is said next is about it. So does a patient's before a gauge or a
    size, which name none themselves: they are those of the patient's cylinder.
    """
    found: list[Meaning] = []
    waiting: Attend | None = None
    called: str | None = None
    for meaning in meanings:
        if isinstance(meaning, Attend) and getattr(meaning, field) is not None:
            found += [waiting] if waiting else []
            waiting, called = meaning, getattr(meaning, field)
        elif called is not None and _lacks(meaning, field):
            found.append(_given(meaning, field, called))
            waiting = None
        elif waiting is not None and _of_the_patients_cylinder(meaning, field):
            found += [waiting, meaning]
            waiting = None
        else:
            found.append(meaning)
    if waiting is None or called is None:
        return tuple(found)
    before = given_to(field, called, found)
    if any(_of_the_patients_cylinder(m, field) for m in found) and not any(isinstance(m, Attend) for m in found):
        return (waiting, *before)
    return before if before != tuple(found) else (*found, waiting)


def _of_the_patients_cylinder(meaning: Meaning, field: str) -> bool:
    return field == "patient" and isinstance(meaning, GaugeReading | CylinderSize) and meaning.cylinder is None


def _lacks(meaning: Meaning, field: str) -> bool:
    """Whether the meaning can be about such a thing and names none. A change names the next cylinder by naming none."""
    if isinstance(meaning, Attend | CylinderChange):
        return False
    return any(one.name == field for one in fields(meaning)) and getattr(meaning, field) is None


def _given(meaning: Meaning, field: str, called: str) -> Meaning:
    change: dict[str, Any] = {field: called}
    return replace(meaning, **change)


def _contradict(meanings: Sequence[Meaning]) -> bool:
    """Whether two of them give different values of one thing; a change of cylinder begins anew."""
    said: dict[tuple[str | None, ...], Meaning] = {}
    for meaning in meanings:
        if isinstance(meaning, CylinderChange):
            said.clear()
        elif isinstance(meaning, _SINGLE):
            owner = (getattr(meaning, "patient", None), getattr(meaning, "cylinder", None))
            if said.setdefault((*_thing(meaning), *owner), meaning) != meaning:
                return True
    return False
