"""The watch: which alerts are due now, the worst first, and when the next one will be.

Takes a State, its kit and a time; gives the conditions to be announced. Pure: what was announced or acknowledged it
reads from the state's alerts, so the cost does not grow with the events behind it.

Priorities and their meaning follow the concepts of IEC 60601-1-8 (from memory; the standard was not opened): three
priorities by how soon harm would come; a higher one goes before a lower one; an alert goes on until its condition
ends or it is acknowledged; acknowledging silences the sound, not the condition, and a condition that comes anew
sounds anew. Not followed: this is not a medical electrical system and claims no conformity; its alerts are spoken,
with a bell, and not the bursts of pulses of the standard; there is no light; the intervals between repeats are longer
than the standard's between bursts (2.5 to 15 s for high), since each repeat is a spoken sentence that a rescuer has
to talk through; there is no time-limited pause and no logging of alarm limits beyond the record.
"""

from __future__ import annotations

from math import inf

from assistant.incident.conditions import Condition, conditions
from assistant.incident.state import State
from assistant.oxygen.kit import Kit

PRIORITIES = ("high", "medium", "low")
# Among alerts of one priority: what stops the oxygen soonest first.
KINDS = (
    "empty",
    "reserve_reached",
    "saturation_low",
    "reserve_near",
    "leak_suspected",
    "flow_out_of_range",
    "handover_not_covered",
    "reading_overdue",
)
# Seconds until an alert that nobody acknowledged is said again. Our choice, see above.
REPEAT_S = {"high": 30.0, "medium": 120.0, "low": 300.0}
# After an acknowledgement a condition that falls due again sooner than this is the same one, seen afresh.
SAME_FOR_S = 120.0
# A leak that goes on is known: the next reading does not make it news.
SAME_LEAK_FOR_S = 1200.0


def due_alerts(state: State, kit: Kit, at_s: float) -> tuple[Condition, ...]:
    """The alerts to announce at `at_s`, the worst first; whatever fell due during a stall comes at once, and once."""
    due = [condition for condition in conditions(state) if _next_s(state, condition) <= at_s < condition.until_s]
    return tuple(sorted(due, key=lambda condition: _rank(condition)))


def next_due_s(state: State, kit: Kit, at_s: float = 0.0) -> float:
    """When the next alert is due if nothing happens before, on the incident's clock; infinite if none is.

    In the past where one is overdue. What ended before `at_s` (or the last event) without having been said, as in a
    stall, is due no more: `due_alerts` says the worse one that took its place.
    """
    over_s = max(at_s, state.at_s)
    times = [(_next_s(state, condition), condition.until_s) for condition in conditions(state)]
    return min((next_s for next_s, until_s in times if next_s < until_s and over_s < until_s), default=inf)


def _rank(condition: Condition) -> tuple[int, int, float]:
    return PRIORITIES.index(condition.priority), KINDS.index(condition.alert), condition.due_s


def _next_s(state: State, condition: Condition) -> float:
    """When this condition is to be announced: as it falls due, again until acknowledged, and when it comes anew."""
    alert = state.alerts.get((condition.alert, condition.cylinder, condition.patient))
    if alert is None:
        return condition.due_s
    if alert.acknowledged_at_s is not None:
        if condition.due_s <= alert.acknowledged_at_s:
            return inf
        same_s = SAME_LEAK_FOR_S if condition.alert == "leak_suspected" else SAME_FOR_S
        return max(condition.due_s, alert.acknowledged_at_s + same_s)
    return max(condition.due_s, alert.last_at_s + REPEAT_S[condition.priority])
