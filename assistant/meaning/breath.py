"""What was said in one breath, put in order: restarts drop what they take back, and named patients get their values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace
from typing import Any

from assistant.meaning.kinds import Attend, Correction, CylinderChange, Meaning, VitalSign


def in_order(meanings: Sequence[Meaning]) -> tuple[Meaning, ...]:
    """The meanings of one utterance as they stand at its end."""
    return _attributed(_restarted(meanings))


def _restarted(meanings: Sequence[Meaning]) -> list[Meaning]:
    """Without what was said and taken back in the same breath: "small, correction, large cylinder"."""
    kept: list[Meaning] = []
    for meaning in meanings:
        if len(kept) >= 2 and kept[-1] == Correction() and _same_thing(kept[-2], meaning):
            del kept[-2:]
        kept.append(meaning)
    return kept


def _same_thing(before: Meaning, after: Meaning) -> bool:
    if isinstance(before, VitalSign) and isinstance(after, VitalSign):
        return before.sign == after.sign
    return type(before) is type(after)


def _attributed(meanings: Sequence[Meaning]) -> tuple[Meaning, ...]:
    """Each name goes to the values after it; a name that ends the breath, to those before it."""
    found = list(meanings)
    for at, meaning in enumerate(meanings):
        if isinstance(meaning, Attend):
            following = [i for i in range(at + 1, len(found)) if _can_take(found[i], meaning)]
            places = following or [i for i in range(at) if _can_take(found[i], meaning)]
            for i in places:
                found[i] = _given(found[i], meaning)
            if places:
                found[at] = Correction(back=-1)
    return tuple(meaning for meaning in found if meaning != Correction(back=-1))


def _can_take(meaning: Meaning, name: Attend) -> bool:
    if isinstance(meaning, Attend | CylinderChange):
        return False
    return any(f.name in _named(name) and getattr(meaning, f.name) is None for f in fields(meaning))


def _given(meaning: Meaning, name: Attend) -> Meaning:
    theirs = {f.name for f in fields(meaning)}
    changes: dict[str, Any] = {key: called for key, called in _named(name).items() if key in theirs}
    return replace(meaning, **changes)


def _named(name: Attend) -> dict[str, str]:
    return {key: called for key in ("patient", "cylinder") if (called := getattr(name, key)) is not None}
