"""The events of one incident in order, with the state they fold to. Only grows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from assistant.incident.events import Event, Withdrawn
from assistant.incident.fold import after, folded
from assistant.incident.state import State

if TYPE_CHECKING:
    from assistant.oxygen.kit import Kit


class Incident:
    """An append-only list of events and its fold; `state` is the state after the last one."""

    def __init__(self, kit: Kit, events: Iterable[Event] = ()) -> None:
        self._kit = kit
        self._events: list[Event] = list(events)
        self.state = folded(kit, enumerate(self._events, start=1))

    @property
    def events(self) -> Sequence[Event]:
        """All events so far; the number of an event is its index here plus one."""
        return self._events

    def state_after(self, events: Sequence[Event]) -> State:
        """The state that would follow `events`, without appending them."""
        if self._out_of_order(events):
            return folded(self._kit, enumerate([*self._events, *events], start=1))
        state = self.state
        for number, event in enumerate(events, start=len(self._events) + 1):
            state = after(state, number, event)
        return state

    def append(self, events: Sequence[Event]) -> State:
        """Put `events` in force; returns the state after them."""
        self.state = self.state_after(events)
        self._events.extend(events)
        return self.state

    def _out_of_order(self, events: Sequence[Event]) -> bool:
        """A withdrawal, or a value that holds from an earlier time, needs the whole fold."""
        return any(isinstance(e, Withdrawn) or e.at_s < self.state.at_s for e in events)
