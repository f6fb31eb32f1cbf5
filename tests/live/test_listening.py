"""The ears' thread at work with a scripted source: half duplex, the phrase that stops the voice, a lost device."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest

from assistant.live.addressing import OpenMicrophone
from assistant.live.listening import Listening, level_dbfs
from assistant.utterance import Hypothesis, Utterance

Samples = npt.NDArray[np.float32]
PIECE = np.full(320, 0.1, dtype=np.float32)


class Source:
    """Gives a piece whenever the test asks for one."""

    def __init__(self) -> None:
        self._pieces: list[Samples] = []
        self._there = threading.Condition()
        self.lost = False
        self.taken = 0

    def give(self, count: int = 1) -> None:
        with self._there:
            self._pieces += [PIECE] * count
            self._there.notify_all()

    def read(self, timeout_s: float = 0.1) -> Samples | None:
        with self._there:
            self.taken += 1
            if not self._there.wait_for(lambda: bool(self._pieces), timeout=0.02):
                return None
            return self._pieces.pop(0)


class Ends:
    """An endpointer that gives "done" with the third piece."""

    def __init__(self) -> None:
        self.count = 0
        self.dropped = 0
        self.partial = ""

    @property
    def hearing(self) -> bool:
        return self.count > 0

    def accept(self, samples: Samples) -> Utterance | None:
        self.count += 1
        if self.count < 3:
            return None
        self.count = 0
        return Utterance(hypotheses=(Hypothesis(words=("done",)),))

    def drop(self) -> None:
        self.count = 0
        self.dropped += 1


class Spots:
    def __init__(self) -> None:
        self.now = False
        self.heard = 0

    def accept(self, samples: Samples) -> bool:
        self.heard += 1
        return self.now

    def restart(self) -> None:
        return


def waited(true: Callable[[], Any]) -> bool:
    until_s = time.monotonic() + 5.0
    while time.monotonic() < until_s:
        if true():
            return True
        time.sleep(0.005)
    return False


class Scene:
    def __init__(self, hear: Callable[[Utterance], None] | None = None) -> None:
        self.source, self.ends, self.spots = Source(), Ends(), Spots()
        self.heard: list[str] = []
        self.hushed: list[str] = []
        self.trouble: list[str] = []
        self.now_s = 100.0
        self.listening = Listening(
            self.source, self.ends, OpenMicrophone(), hear or (lambda said: self.heard.append(said.best.text)),  # type: ignore[arg-type]
            spotter=self.spots, hush=self.hush, trouble=self.trouble.append, now_s=lambda: self.now_s,
        )  # fmt: skip
        self.listening.start()

    def hush(self) -> bool:
        self.hushed.append("now")
        return True


def test_what_is_heard_is_handed_on() -> None:
    scene = Scene()
    scene.source.give(6)
    assert waited(lambda: scene.heard == ["done", "done"])
    scene.listening.stop()


def test_nothing_is_heard_while_the_voice_speaks_nor_just_after() -> None:
    scene = Scene()
    scene.source.give(2)
    assert waited(lambda: scene.ends.count == 2)
    scene.listening.speaking(True)
    scene.source.give(4)
    assert waited(lambda: scene.spots.heard == 4)
    scene.listening.speaking(False)
    scene.source.give(1)
    assert waited(lambda: scene.spots.heard == 5), "the room still sounds"
    scene.now_s += 1.0
    scene.source.give(3)
    assert waited(lambda: scene.heard == ["done"])
    assert scene.ends.dropped == 1, "half a sentence is none"
    scene.listening.stop()


def test_the_phrase_stops_the_voice() -> None:
    scene = Scene()
    scene.listening.speaking(True)
    scene.spots.now = True
    scene.source.give(1)
    assert waited(lambda: scene.hushed == ["now"])
    scene.spots.now = False
    scene.listening.speaking(False)
    scene.now_s += 0.5
    scene.source.give(4)
    assert waited(lambda: scene.spots.heard == 5), "the end of the phrase itself is no command"
    assert scene.heard == []
    scene.listening.stop()


def test_a_key_stops_the_voice_and_the_ears_open_at_once() -> None:
    scene = Scene()
    scene.listening.speaking(True)
    scene.listening.press()
    scene.source.give(3)
    assert waited(lambda: scene.heard == ["done"])
    assert scene.hushed == ["now"]
    scene.listening.stop()


def test_a_device_lost_mid_word_leaves_no_half_sentence() -> None:
    scene = Scene()
    scene.source.give(2)
    assert waited(lambda: scene.ends.count == 2)
    scene.source.lost = True
    assert waited(lambda: scene.ends.dropped == 1)
    scene.source.lost = False
    scene.source.give(2)
    assert waited(lambda: scene.ends.count == 2)
    assert scene.heard == []
    scene.listening.stop()


def test_an_error_in_the_ears_is_told_and_they_go_on() -> None:
    failures = iter([RuntimeError("no luck"), None])
    heard: list[str] = []

    def hear(utterance: Utterance) -> None:
        failure = next(failures)
        if failure is not None:
            raise failure
        heard.append(utterance.best.text)

    scene = Scene(hear)
    scene.source.give(6)
    assert waited(lambda: heard == ["done"])
    assert len(scene.trouble) == 1
    assert "no luck" in scene.trouble[0]
    scene.listening.stop()


def test_the_level_is_in_decibels_of_full_scale() -> None:
    assert level_dbfs(PIECE) == pytest.approx(-20.0, abs=1e-4)
    assert level_dbfs(np.zeros(100, dtype=np.float32)) == -90.0
