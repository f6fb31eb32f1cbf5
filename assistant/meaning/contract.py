"""Meanings as the contract's JSON objects, and back. Fields that were not said are left out."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import MISSING, Field, fields
from typing import Any, get_args

from assistant.meaning.kinds import Meaning
from assistant.quantity import Measure

_CLASS_OF_KIND: dict[str, Any] = {one.kind: one for one in get_args(Meaning)}
_ORDER = ("cylinder", "size", "pressure", "flow")
"""Fields that come first, as in the contract's example; the others follow as they are declared."""


class MeaningError(ValueError):
    """The object is no meaning: the text names the kind, the field and what is wrong."""


def to_json(meaning: Meaning) -> dict[str, Any]:
    """The contract's object: whole numbers without a fraction, measures as value and unit."""
    said: dict[str, Any] = {"kind": meaning.kind}
    for field in sorted(fields(meaning), key=_place):
        content = getattr(meaning, field.name)
        if content is not None and not _unsaid(field, content):
            said[field.name] = _plain(content)
    return said


def from_json(said: Mapping[str, Any]) -> Meaning:
    """The meaning of a contract's object. Raises MeaningError."""
    kind = str(said.get("kind"))
    wanted = _CLASS_OF_KIND.get(kind)
    if wanted is None:
        raise MeaningError(f"{kind!r} is no kind of meaning; the kinds are {', '.join(_CLASS_OF_KIND)}")
    known = {field.name: field for field in fields(wanted)}
    if strange := sorted(set(said) - set(known) - {"kind"}):
        raise MeaningError(f"{kind} has no field {strange[0]!r}; its fields are {', '.join(known)}")
    contents = {name: _checked(kind, known[name], said[name]) for name in known if name in said}
    if missing := [name for name, field in known.items() if name not in contents and field.default is MISSING]:
        raise MeaningError(f"{kind} needs {missing[0]!r}")
    made: Meaning = wanted(**contents)
    return made


def _place(field: Field[Any]) -> int:
    return _ORDER.index(field.name) if field.name in _ORDER else len(_ORDER)


def _unsaid(field: Field[Any], content: Any) -> bool:
    """A count of 0 values passed over is the ordinary case and not said."""
    return field.default is not MISSING and content == field.default


def _plain(content: Any) -> Any:
    if isinstance(content, Measure):
        return {"value": _plain(content.value), "unit": content.unit}
    if isinstance(content, float) and content.is_integer():
        return int(content)
    return content


def _checked(kind: str, field: Field[Any], content: Any) -> Any:
    """The field's content, of the type that its class declares."""
    declared = str(field.type)
    if declared == "Measure" or (declared == "Measure | None" and content is not None):
        return _measure(kind, field.name, content)
    fits = (
        (content is None and "None" in declared)
        or (isinstance(content, str) and "str" in declared)
        or (isinstance(content, bool) and declared == "bool")
        or (_is_whole(content) and "int" in declared)
        or (_is_number(content) and "float" in declared)
    )
    if not fits:
        raise MeaningError(f"{kind}: {field.name} cannot be {content!r}; it is {declared}")
    return _float(content) if "float" in declared else content


def _float(content: int | float) -> float:
    """The number; infinite where it has more figures than a float, so that it is refused like any impossible value."""
    try:
        return float(content)
    except OverflowError:
        return math.inf


def _measure(kind: str, name: str, content: Any) -> Measure:
    if not (isinstance(content, Mapping) and set(content) == {"value", "unit"} and _is_number(content["value"])):
        raise MeaningError(f"{kind}: {name} cannot be {content!r}; it is a value and a unit")
    return Measure(value=_float(content["value"]), unit=str(content["unit"]))


def _is_number(content: Any) -> bool:
    return isinstance(content, int | float) and not isinstance(content, bool)


def _is_whole(content: Any) -> bool:
    return isinstance(content, int) and not isinstance(content, bool)
