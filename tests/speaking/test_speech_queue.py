"""What is said first: alerts cut into replies, newer replies replace older ones, a failing voice is told once."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from assistant.speaking.mouth import SpeakingError
from assistant.speaking.speech_queue import SpeechQueue

WAIT_S = 5.0


class SlowMouth:
    """Goes on speaking until it is hushed or let go."""

    def __init__(self) -> None:
        self.begun: list[str] = []
        self.ended: list[str] = []
        self.let_go = threading.Event()
        self._hushed = threading.Event()
        self.speaking = threading.Semaphore(0)

    def speak(self, text: str) -> None:
        self._hushed.clear()
        self.begun.append(text)
        self.speaking.release()
        self.sound(text)

    def sound(self, text: str) -> None:
        while not self._hushed.wait(0.01):
            if self.let_go.is_set():
                self.ended.append(text)
                return

    def save(self, text: str, path: Path) -> None:
        raise NotImplementedError

    def hush(self) -> None:
        self._hushed.set()

    def wait(self) -> None:
        assert self.speaking.acquire(timeout=WAIT_S)


def test_an_alert_cuts_into_a_reply_which_is_said_again_after_it() -> None:
    mouth = SlowMouth()
    queue = SpeechQueue(mouth)
    queue.say("a long reply", "reply")
    mouth.wait()
    queue.say("at reserve", "high")
    mouth.wait()
    assert mouth.begun == ["a long reply", "at reserve"]
    mouth.let_go.set()
    mouth.wait()
    queue.close(wait_s=WAIT_S)
    assert mouth.begun == ["a long reply", "at reserve", "a long reply"]
    assert mouth.ended == ["at reserve", "a long reply"]


def test_alerts_waiting_go_before_replies_waiting_and_the_worst_first() -> None:
    mouth = SlowMouth()
    queue = SpeechQueue(mouth)
    queue.say("first", "high")
    mouth.wait()
    for text, what in (("reply", "reply"), ("low", "low"), ("step", "prompt"), ("medium", "medium"), ("high", "high")):
        queue.say(text, what)
    mouth.let_go.set()
    queue.close(wait_s=WAIT_S)
    assert mouth.begun == ["first", "high", "medium", "low", "step", "reply"]


def test_a_newer_reply_takes_the_place_of_an_older_one() -> None:
    mouth = SlowMouth()
    queue = SpeechQueue(mouth)
    queue.say("old", "reply")
    mouth.wait()
    queue.say("new", "reply")
    mouth.wait()
    mouth.let_go.set()
    queue.close(wait_s=WAIT_S)
    assert mouth.begun == ["old", "new"]


def test_hushing_stops_all_and_nothing_is_said_again() -> None:
    mouth = SlowMouth()
    changes: list[bool] = []
    quiet = threading.Event()

    def changed(speaking: bool) -> None:
        changes.append(speaking)
        if not speaking:
            quiet.set()

    queue = SpeechQueue(mouth, on_change=changed)
    queue.say("alert", "high")
    queue.say("reply", "reply")
    mouth.wait()
    assert queue.hush()
    assert quiet.wait(WAIT_S)
    assert not queue.speaking
    assert not queue.hush(), "nothing was being said"
    queue.close()
    assert mouth.begun == ["alert"]
    assert changes == [True, False]


class LateMouth(SlowMouth):
    """Takes its time before it can be stopped, as a voice that is still making its sound."""

    def sound(self, text: str) -> None:
        self._hushed.wait(0.3)
        self._hushed.clear()
        super().sound(text)


def test_a_voice_about_to_sound_is_stopped_too() -> None:
    mouth = LateMouth()
    queue = SpeechQueue(mouth)
    queue.say("a long reply", "reply")
    mouth.wait()
    queue.hush()
    queue.say("at reserve", "high")
    mouth.wait()
    mouth.let_go.set()
    queue.close(wait_s=WAIT_S)
    assert mouth.ended == ["at reserve"]


class BrokenMouth(SlowMouth):
    def speak(self, text: str) -> None:
        self.begun.append(text)
        raise SpeakingError("the voice is gone")


def test_a_voice_that_fails_is_told_once_and_the_rest_goes_on() -> None:
    told: list[str] = []
    mouth = BrokenMouth()
    queue = SpeechQueue(mouth, on_failure=told.append)
    queue.say("one", "high")
    queue.say("two", "medium")
    queue.close(wait_s=WAIT_S)
    assert mouth.begun == ["one", "two"]
    assert told == ["The voice fails (the voice is gone): replies are written, not spoken."]


@pytest.mark.parametrize("what", ["reply", "high"])
def test_nothing_is_said_of_nothing(what: str) -> None:
    mouth = SlowMouth()
    queue = SpeechQueue(mouth)
    queue.say("", what)
    queue.close(wait_s=WAIT_S)
    assert mouth.begun == []
