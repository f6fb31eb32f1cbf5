"""The supply chart's numbers: what the gauge read, what was reckoned since, and what lies ahead at the flow now set.

Takes the state, the readings so far and a time; gives minutes and pressures for the page to draw.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import isfinite
from typing import Any

from assistant.incident.events import Event, GaugeRead
from assistant.incident.state import Cylinder, State
from assistant.quantity import convert

LOOKED_AHEAD_MIN = 90.0
STEPS_AHEAD = 12
NINETY = 1.645  # standard deviations that hold 90 % of a normal spread


def curves(state: State, events: Iterable[Event], at_s: float) -> dict[str, Any]:
    """Times are minutes from the incident's beginning, pressures in the unit the gauge was read in."""
    readings = [event for event in events if isinstance(event, GaugeRead)]
    drawn = [each for each in state.cylinders.values() if each.patient is not None and each.estimate is not None]
    unit = next((each.unit for each in drawn if each.unit), state.kit.pressure_unit)
    return {
        "type": "chart",
        "now": at_s / 60,
        "unit": unit,
        "reserve": convert(state.kit.reserve_bar, "bar", unit),
        "handover": None if state.handover_at_s is None else state.handover_at_s / 60,
        "cylinders": [_curve(each, readings, state, at_s, unit) for each in drawn],
    }


def _curve(cylinder: Cylinder, readings: list[GaugeRead], state: State, at_s: float, unit: str) -> dict[str, Any]:
    own = [event for event in readings if event.cylinder == cylinder.name]
    return {
        "name": cylinder.name,
        "readings": [[event.at_s / 60, convert(event.pressure_bar, "bar", unit)] for event in own],
        "ahead": _ahead(cylinder, state, at_s, unit),
    }


def _ahead(cylinder: Cylinder, state: State, at_s: float, unit: str) -> list[list[float]]:
    """From the last reading to where the reserve is met: time, pressure, and the ends of the 90 % interval."""
    estimate = cylinder.estimate
    assert estimate is not None
    minutes = estimate.minutes_to(at_s, state.kit.reserve_bar).expected
    until_s = at_s + 60 * (min(minutes * 1.15, LOOKED_AHEAD_MIN) if isfinite(minutes) else LOOKED_AHEAD_MIN / 3)
    since_s = cylinder.read_at_s or at_s
    points = []
    for step in range(STEPS_AHEAD + 1):
        point_s = since_s + (until_s - since_s) * step / STEPS_AHEAD
        if point_s < estimate.at_s:
            continue
        mean, sd = estimate.pressure_bar(point_s)
        ends = (mean, max(0.0, mean - NINETY * sd), mean + NINETY * sd)
        points.append([round(point_s / 60, 2), *(round(convert(each, "bar", unit), 1) for each in ends)])
    return points
