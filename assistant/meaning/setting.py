"""Builders for the time to hand-over, the height and the cold."""

from __future__ import annotations

from assistant.grammar import Node
from assistant.meaning.kinds import Altitude, Meaning, Temperature, TimeToHandover
from assistant.meaning.numbers import value
from assistant.meaning.registry import builds
from assistant.meaning.tree import first, last, number, tag, under
from assistant.oxygen.kit import Kit
from assistant.quantity import convert

_MINUTES_IN_HOUR = 60
_DEGREES = {"degC": "°C", "degF": "°F"}


@builds("time_to_handover")
def time_to_handover(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """Minutes from now."""
    said = last(node, "duration", "eta_minutes")
    minutes = number(node, "eta_minutes") if said.rule == "eta_minutes" else minutes_of(said)
    return (TimeToHandover(minutes=minutes),)


def minutes_of(duration: Node) -> float:
    """The minutes of a <duration>: its hours and its minutes."""
    hours = _sum(duration, "hours_only", "half_hours")
    return hours * _MINUTES_IN_HOUR + _sum(duration, "minutes_only", "more_minutes")


def _sum(duration: Node, *rules: str) -> float:
    return sum(value(part) or 0.0 for part in under(duration, *rules))


@builds("altitude")
def altitude(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """Metres above sea level; "at sea level" is 0."""
    if first(node, "sea_level") is not None:
        return (Altitude(metres=0.0),)
    unit = tag(node, ("m", "ft"))
    assert unit is not None
    return (Altitude(metres=convert(number(node, "height_value"), unit, "m")),)


@builds("temperature")
def temperature(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """Degrees Celsius, where none are named; "ten below" is under zero."""
    below = first(node, "below_zero")
    if below is not None:
        return (Temperature(celsius=-number(node, "below_zero")),)
    unit = _DEGREES[tag(node, _DEGREES) or "degC"]
    return (Temperature(celsius=convert(number(node, "temperature_value", "below_said"), unit, "°C")),)
