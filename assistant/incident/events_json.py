"""Turns events into JSON values and back, by their dataclass fields alone; refuses what does not fit a field.

Nothing here knows an event by name: a kind added to the union is carried without a change here.
"""

from __future__ import annotations

import json
import math
import sys
from collections.abc import Callable
from dataclasses import MISSING, Field, dataclass, fields
from typing import Any, Union, get_args, get_origin, get_type_hints

from assistant.incident.events import Event

JsonObject = dict[str, Any]


class EventError(ValueError):
    """The JSON value is no event; the text says which field and why, on one line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plan:
    """How the fields of one kind of event are read."""

    make: Callable[..., Event]
    readers: tuple[tuple[str, Callable[[Any], Any]], ...]
    lists: tuple[tuple[str, Callable[[Any], Any]], ...]  # those of them that JSON gives as lists
    required: frozenset[str]


def event_to_json(event: Event) -> JsonObject:
    """The event as a JSON object: `kind` first, then every field under its own name."""
    value: JsonObject = {"kind": event.kind}
    for name, _ in _PLANS[event.kind].readers:
        value[name] = getattr(event, name)
    return value


def event_from_json(value: Any) -> Event:
    """The event that `event_to_json` wrote; raises EventError where it is none.

    Fields that are missing take their default; fields that are not known are left out, so that a record written by a
    later version with one more field still opens.
    """
    if not isinstance(value, dict):
        raise EventError("an event is a JSON object")
    kind = value.get("kind")
    plan = _PLANS.get(kind) if isinstance(kind, str) else None
    if plan is None:
        raise EventError(f"{kind!r} is no kind of event")
    try:
        return plan.make(**{name: read(value[name]) for name, read in plan.readers if name in value})
    except EventError as error:
        raise EventError(f"{value['kind']}: {_wrong_field(plan, value)}") from error
    except TypeError as error:
        missing = sorted(plan.required - value.keys())
        raise EventError(f"{value['kind']}: {', '.join(missing)} is missing") from error


def event_once_written(value: JsonObject) -> Event:
    """The same for a value that `event_to_text` is known to have written: nothing but lists needs another form.

    It takes half the time, which counts where a record of a hundred thousand events is opened.
    """
    plan = _PLANS.get(value.get("kind", "")) if isinstance(value, dict) else None
    if plan is None or len(value) != len(plan.readers) + 1:
        return event_from_json(value)
    fields_ = value.copy()
    del fields_["kind"]
    try:
        for name, read in plan.lists:
            fields_[name] = read(fields_[name])
        return plan.make(**fields_)
    except (KeyError, TypeError):  # other fields than this version's
        return event_from_json(value)


def event_to_text(event: Event) -> str:
    """The event as one line of JSON, proven to come back the same; raises EventError for one that would not.

    A value that cannot be read again must not get on record: it would make the whole record unreadable.
    """
    try:
        text = _one_line(event_to_json(event))
    except (TypeError, ValueError) as error:
        raise EventError(f"{event.kind}: {error}") from error
    if event_from_json(json.loads(text)) != event:
        raise EventError(f"{event.kind}: {text} does not come back as it was")
    return text


def _one_line(value: JsonObject) -> str:
    text = json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    try:
        text.encode()
    except UnicodeEncodeError:  # half a character, from a terminal in another encoding: kept as an escape
        return json.dumps(value, allow_nan=False, separators=(",", ":"))
    return text


def _wrong_field(plan: _Plan, value: JsonObject) -> str:
    for name, read in plan.readers:
        try:
            if name in value:
                read(value[name])
        except EventError as error:
            return f"{name} {error}"
    raise AssertionError("a field was wrong and now none is")


def _plan(cls: type[Any]) -> _Plan:
    hints = get_type_hints(cls)
    kept = [field for field in fields(cls) if field.init]
    return _Plan(
        make=cls,
        readers=tuple((field.name, _reader(hints[field.name])) for field in kept),
        lists=tuple((f.name, _reader(hints[f.name])) for f in kept if get_origin(hints[f.name]) is tuple),
        required=frozenset(field.name for field in kept if _has_no_default(field)),
    )


def _has_no_default(field: Field[Any]) -> bool:
    return field.default is MISSING and field.default_factory is MISSING


def _reader(hint: Any) -> Callable[[Any], Any]:
    """A function that returns the value as the hint has it, or raises EventError."""
    if hint in _ATOMS:
        return _ATOMS[hint]
    origin, arguments = get_origin(hint), get_args(hint)
    if origin is tuple:
        return _tuple_reader(arguments)
    if origin is dict:
        return _read_object
    # `int | str` is types.UnionType on 3.10 and later, typing.Union where it is written so; both are a choice.
    if origin is Union or type(hint).__name__ == "UnionType":
        return _choice_reader(tuple(_reader(each) for each in arguments))
    raise TypeError(f"events have no fields of type {hint!r} yet; teach events_json.py to read them")


def _tuple_reader(arguments: tuple[Any, ...]) -> Callable[[Any], Any]:
    if len(arguments) == 2 and arguments[1] is Ellipsis:
        each = _reader(arguments[0])

        def read_many(value: Any) -> tuple[Any, ...]:
            return tuple(map(each, _listed(value)))

        return read_many
    readers = tuple(_reader(argument) for argument in arguments)

    def read_fixed(value: Any) -> tuple[Any, ...]:
        if len(_listed(value)) != len(readers):
            raise EventError(f"holds {len(readers)} values")
        return tuple(read(part) for read, part in zip(readers, value, strict=True))

    return read_fixed


def _choice_reader(readers: tuple[Callable[[Any], Any], ...]) -> Callable[[Any], Any]:
    def read(value: Any) -> Any:
        for one in readers:
            try:
                return one(value)
            except EventError as error:
                last = error
        raise last

    return read


def _listed(value: Any) -> list[Any] | tuple[Any, ...]:
    if isinstance(value, (list, tuple)):
        return value
    raise EventError("is no list")


def _read_float(value: Any) -> float:
    if type(value) is float or (type(value) is int and abs(value) <= sys.float_info.max):
        number = float(value)
        if math.isfinite(number):
            return number
    raise EventError("is no finite number")


def _read_int(value: Any) -> int:
    if type(value) is int:
        return value
    raise EventError("is no whole number")


def _read_str(value: Any) -> str:
    if type(value) is str:
        return value
    raise EventError("is no text")


def _read_bool(value: Any) -> bool:
    if type(value) is bool:
        return value
    raise EventError("is neither true nor false")


def _read_none(value: Any) -> None:
    if value is not None:
        raise EventError("is not null")


def _read_object(value: Any) -> JsonObject:
    if isinstance(value, dict):
        return value
    raise EventError("is no JSON object")


def _read_any(value: Any) -> Any:
    return value


_ATOMS: dict[Any, Callable[[Any], Any]] = {
    float: _read_float,
    int: _read_int,
    str: _read_str,
    bool: _read_bool,
    type(None): _read_none,
    Any: _read_any,
}

_PLANS: dict[str, _Plan] = {cls.kind: _plan(cls) for cls in get_args(Event)}
