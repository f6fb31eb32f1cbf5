"""The live supply in one line for narrow places: minutes, estimated pressure, flow, the next alert. Plain text.

Takes the state and a time; gives lines that fit a width. Nothing is told that is not known.
"""

from __future__ import annotations

from math import floor, isinf

from assistant.dialogue.supply_now import SupplyNow, supplies
from assistant.incident.state import State
from assistant.oxygen.supply import spoken_minutes
from assistant.quantity import Measure

_LACKING = {"cylinder_size": "size?", "gauge_reading": "gauge?", "flow_rate": "flow?"}


# An estimate is shown in steps that a gauge can be read in, rounded down (our choice).
_STEP = {"psi": 10.0, "bar": 1.0, "MPa": 0.1}


def pressure_shown(pressure: Measure, *, estimated: bool) -> str:
    """The number as screens show it: a reading as it was read, an estimate rounded down."""
    if not estimated:
        return f"{pressure.value:g}"
    step = _STEP.get(pressure.unit, 1.0)
    return f"{floor(pressure.value / step + 1e-9) * step:.{0 if step >= 1 else 1}f}"


def supply_parts(now: SupplyNow, *, several: bool, at_s: float, read_at_s: float | None) -> tuple[str, ...]:
    """The parts of one cylinder's line, the most needed first."""
    lead = f"bottle {now.cylinder}: " if several else ""
    if now.minutes is None or isinf(now.minutes.expected):
        minutes = "flow off" if now.flow_l_min == 0 and not now.lacks else "minutes not known"
    else:
        minutes = f"{spoken_minutes(now.minutes)} min to reserve"
    parts = [lead + minutes]
    if now.pressure is not None:
        estimated = read_at_s is not None and at_s > read_at_s
        shown = pressure_shown(now.pressure, estimated=estimated)
        parts.append(f"{shown} {now.pressure.unit}{' est.' if estimated else ''}")
    if now.flow_l_min:
        parts.append(f"{now.flow_l_min:g} L/min")
    parts += [_LACKING[each] for each in now.lacks]
    return tuple(parts)


def next_alert_text(due_s: float, at_s: float) -> str:
    """When the next alert is foreseen, "" where none is."""
    if isinf(due_s):
        return ""
    left_s = max(0.0, due_s - at_s)
    return f"next alert {left_s / 60:.0f} min" if left_s >= 60 else f"next alert {left_s:.0f} s"


def supply_lines(state: State, at_s: float, due_s: float, *, width: int = 60) -> tuple[str, ...]:
    """One line for each cylinder in use, and the next alert with the first; parts that do not fit are left out."""
    in_use = [now for now in supplies(state, at_s) if now.patient is not None]
    lines = []
    for index, now in enumerate(in_use):
        read_at_s = state.cylinders[now.cylinder].read_at_s
        parts = supply_parts(now, several=len(in_use) > 1, at_s=at_s, read_at_s=read_at_s)
        if index == 0 and (alert := next_alert_text(due_s, at_s)):
            parts = (*parts[:2], alert, *parts[2:])
        lines.append(_fitted(parts, width))
    return tuple(lines)


def _fitted(parts: tuple[str, ...], width: int) -> str:
    line = ""
    for part in parts:
        longer = f"{line} | {part}" if line else part
        if len(longer) > width:
            break
        line = longer
    return line or parts[0][:width]
