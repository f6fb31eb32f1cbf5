"""One live conversation: a session that several threads may speak to, and whose alerts come when they fall due.

Takes utterances from any thread, one at a time; a thread of its own passes the time.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from math import isinf

from assistant.app import Clock, Session
from assistant.dialogue.turn import Turn
from assistant.incident.state import State
from assistant.utterance import Utterance

# The time passes in steps of at most this, whatever was foreseen: the machine may sleep, and the clock goes on.
LONGEST_WAIT_S = 0.5
SHORTEST_WAIT_S = 0.02


class Conversation:
    """A session behind a lock. `tick` is called after each step of time, outside the lock, with nothing to say."""

    def __init__(self, session: Session, clock: Clock, *, tick: Callable[[], None] = lambda: None) -> None:
        self._session = session
        self._clock = clock
        self._tick = tick
        self._lock = threading.RLock()
        self._wake = threading.Event()
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._pass_time, name="passing-time", daemon=True)

    def start(self) -> None:
        """Begins to pass the time; what fell due before comes at once."""
        self._thread.start()

    def stop(self) -> None:
        """Ends the passing of time; returns when no alert can come any more."""
        self._ended.set()
        self._wake.set()
        if self._thread.is_alive():
            self._thread.join()

    def hear(self, utterance: Utterance) -> Turn:
        """One turn."""
        with self._lock:
            turn = self._session.hear(utterance)
        self._wake.set()
        return turn

    def alone(self, act: Callable[[], None]) -> None:
        """Does something with the session while no other thread is at it."""
        with self._lock:
            act()
        self._wake.set()

    def now(self) -> tuple[State, float]:
        """The state, and the time on the incident's clock."""
        with self._lock:
            return self._session.state, self._clock.now_s()

    def next_due_s(self) -> float:
        """When something will have to be said, on the incident's clock; infinite where nothing is foreseen."""
        with self._lock:
            return self._session.next_due_s()

    @property
    def session(self) -> Session:
        """The session; to be read, and not to be spoken to."""
        return self._session

    def _pass_time(self) -> None:
        while not self._ended.is_set():
            with self._lock:
                self._session.pass_time()
                wait_s = self._session.next_due_s() - self._clock.now_s()
            self._tick()
            self._wake.wait(LONGEST_WAIT_S if isinf(wait_s) else min(LONGEST_WAIT_S, max(SHORTEST_WAIT_S, wait_s)))
            self._wake.clear()
