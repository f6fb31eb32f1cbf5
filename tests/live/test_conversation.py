"""Alerts come when they fall due, whatever ears and voice are doing, and stand in the record before they are shown."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from assistant.app import Session, SetClock, setting_for
from assistant.dialogue.turn import Turn
from assistant.incident import events as ev
from assistant.incident.state import State
from assistant.live.conversation import Conversation
from assistant.live.voiced import Several, Voiced
from assistant.meaning.typed import typed
from assistant.oxygen.kit import default_kit
from assistant.speaking.mouth import SpeakingError
from assistant.speaking.speech_queue import SpeechQueue

SETTING = setting_for(default_kit())
WAIT_S = 10.0


class RunningClock(SetClock):
    """Set by the test, and taken for the machine's own clock."""

    steps = False


class Shown:
    """A screen that notes what it shows, and what stood in the record by then."""

    def __init__(self) -> None:
        self.turns: list[Turn] = []
        self.alerts: list[tuple[str, bool]] = []
        self.record = Record()
        self.alerted = threading.Event()

    def show_turn(self, turn: Turn, state: State) -> None:
        self.turns.append(turn)

    def show_alert(self, alert: ev.AlertRaised, state: State) -> None:
        self.alerts.append((alert.alert, alert in self.record.events))
        self.alerted.set()

    def show_prompt(self, at_s: float, say: str, state: State) -> None:
        return


class Record:
    def __init__(self) -> None:
        self.events: list[ev.Event] = []

    def append(self, events: Sequence[ev.Event]) -> tuple[int, ...]:
        self.events += events
        return tuple(range(len(events)))


class BrokenMouth:
    def speak(self, text: str) -> None:
        raise SpeakingError("no voice")

    def save(self, text: str, path: Path) -> None:
        raise SpeakingError("no voice")

    def hush(self) -> None:
        return


def conversation(screen: Any, record: Record, clock: RunningClock) -> Conversation:
    return Conversation(Session(SETTING, clock, screen, record=record), clock)


def test_an_alert_comes_while_the_ears_are_busy_and_is_recorded_first() -> None:
    clock, shown = RunningClock(), Shown()
    live = conversation(shown, shown.record, clock)
    live.hear(typed("bottle reads 1500, small cylinder, 15 litres", SETTING.grammar))
    live.start()
    busy, done = threading.Event(), threading.Event()

    def decode() -> None:
        """The recogniser, in the midst of a long utterance."""
        busy.set()
        done.wait(WAIT_S)

    ears = threading.Thread(target=decode)
    ears.start()
    busy.wait(WAIT_S)
    assert not shown.alerted.is_set()
    clock.set(live.next_due_s() + 1.0)
    assert shown.alerted.wait(WAIT_S)
    assert ears.is_alive()
    assert all(recorded for _, recorded in shown.alerts)
    done.set()
    ears.join()
    live.stop()


def test_an_alert_is_on_every_screen_and_on_record_though_the_voice_fails() -> None:
    clock, shown, other = RunningClock(), Shown(), Shown()
    other.record = shown.record
    told: list[str] = []
    voice = SpeechQueue(BrokenMouth(), on_failure=told.append)
    live = conversation(Voiced(Several([shown, other]), voice), shown.record, clock)
    live.hear(typed("bottle reads 1500, small cylinder, 15 litres", SETTING.grammar))
    live.start()
    clock.set(live.next_due_s() + 1.0)
    assert other.alerted.wait(WAIT_S)
    live.stop()
    voice.close(wait_s=WAIT_S)
    assert shown.alerts == other.alerts
    assert all(recorded for _, recorded in shown.alerts)
    assert len(told) == 1


def test_many_threads_may_speak_at_once() -> None:
    clock, shown = RunningClock(), Shown()
    live = conversation(shown, shown.record, clock)
    live.start()
    sentence = typed("sats 91", SETTING.grammar)
    threads = [threading.Thread(target=live.hear, args=(sentence,)) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(WAIT_S)
    live.stop()
    assert len(shown.turns) == 8
    assert sum(isinstance(event, ev.VitalNoted) for event in shown.record.events) == 8
    assert live.now()[0].patients["1"].vitals["oxygen_saturation"].value == 91
