"""The events of one incident in order, with the state they fold to. Only grows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import inf
from typing import TYPE_CHECKING

from assistant.incident.events import Event, Withdrawn
from assistant.incident.fold import after, folded
from assistant.incident.state import State

if TYPE_CHECKING:
    from assistant.oxygen.kit import Kit

# States kept on the way, so that a correction folds what came since the value it corrects and not the whole incident:
# eight hours of one took two thirds of a second. What is undone is hardly ever older than the kept ones reach.
KEPT_EVERY = 16
MOST_KEPT = 64


class Incident:
    """An append-only list of events and its fold; `state` is the state after the last one."""

    def __init__(self, kit: Kit, events: Iterable[Event] = ()) -> None:
        self._kit = kit
        self._events: list[Event] = []
        self._kept: list[tuple[int, State]] = []
        self.state = State(kit=kit)
        self.append(tuple(events))

    @property
    def events(self) -> Sequence[Event]:
        """All events so far; the number of an event is its index here plus one."""
        return self._events

    def state_after(self, events: Sequence[Event]) -> State:
        """The state that would follow `events`, without appending them."""
        since_s = self._changes_since_s(events)
        if since_s < inf:
            count, state = self._kept_before(since_s)
            later = enumerate([*self._events[count:], *events], start=count + 1)
            return folded(self._kit, later, state)
        state = self.state
        for number, event in enumerate(events, start=len(self._events) + 1):
            state = after(state, number, event)
        return state

    def append(self, events: Sequence[Event]) -> State:
        """Put `events` in force; returns the state after them."""
        since_s = self._changes_since_s(events)
        self.state = self.state_after(events)
        self._events.extend(events)
        self._kept = [(count, state) for count, state in self._kept if state.at_s < since_s][-MOST_KEPT:]
        if len(self._events) >= (self._kept[-1][0] if self._kept else 0) + KEPT_EVERY:
            self._kept.append((len(self._events), self.state))
        return self.state

    def _changes_since_s(self, events: Sequence[Event]) -> float:
        """From when on the past is changed: by a withdrawal, or a value that holds from an earlier time; infinite
        where it is not."""
        newest_s, since_s = self.state.at_s, inf
        for event in events:
            if isinstance(event, Withdrawn):
                since_s = min([since_s, event.at_s, *(self._at_s(number, events) for number in event.numbers)])
            if event.at_s < newest_s:
                since_s = min(since_s, event.at_s)
            newest_s = max(newest_s, event.at_s)
        return since_s

    def _at_s(self, number: int, events: Sequence[Event]) -> float:
        """The time of the event of that number, here or among `events`."""
        at = number - 1 - len(self._events)
        return self._events[number - 1].at_s if at < 0 else events[at].at_s if at < len(events) else inf

    def _kept_before(self, at_s: float) -> tuple[int, State]:
        """The newest kept state that lies wholly before, with the count of events behind it."""
        before = ((count, state) for count, state in reversed(self._kept) if state.at_s < at_s)
        return next(before, (0, State(kit=self._kit)))
