"""A microphone that is not there, is held by another program, or may not be used: told in one line, with the cure."""

from __future__ import annotations

import sys
from types import ModuleType, SimpleNamespace
from typing import Any

import pytest

from assistant.hearing.microphone import Microphone, MicrophoneError


class Sound(ModuleType):
    """miniaudio with these capture devices, which fail to open as told."""

    class MiniaudioError(Exception):
        pass

    SampleFormat = SimpleNamespace(FLOAT32=5)

    def __init__(self, names: list[str], failure: str | None) -> None:
        super().__init__("miniaudio")
        self.names = names
        self.failure = failure
        self.opened = 0

    def Devices(self) -> Any:  # noqa: N802  (the library's name)
        captures = [{"name": name, "id": name, "isDefault": name == self.names[-1]} for name in self.names]
        return SimpleNamespace(backend="PulseAudio", get_captures=lambda: captures)

    def CaptureDevice(self, **options: Any) -> Any:  # noqa: N802  (the library's name)
        if self.failure:
            raise self.MiniaudioError(self.failure)
        self.opened += 1
        return SimpleNamespace(start=lambda taking: None, close=lambda: None)


def refused(monkeypatch: pytest.MonkeyPatch, sound: Sound, name: str | None = None) -> str:
    monkeypatch.setitem(sys.modules, "miniaudio", sound)
    with pytest.raises(MicrophoneError) as error:
        Microphone(name).open()
    assert "\n" not in str(error.value)
    return str(error.value)


def test_there_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    assert "connect a headset; typing works" in refused(monkeypatch, Sound([], None))


@pytest.mark.parametrize("failure", ["device is busy", "access denied"])
def test_it_is_busy_or_may_not_be_used(monkeypatch: pytest.MonkeyPatch, failure: str) -> None:
    line = refused(monkeypatch, Sound(["Headset"], failure))
    assert f"Headset cannot be opened ({failure})" in line
    assert "another program may hold it, or you may lack the right to use it" in line


def test_one_of_another_name(monkeypatch: pytest.MonkeyPatch) -> None:
    line = refused(monkeypatch, Sound(["Built-in", "Headset"], None), "desk")
    assert "no microphone called 'desk'; there are: Headset, Built-in" in line


def test_the_usual_one_is_opened_and_one_that_is_named_by_a_part_of_it(monkeypatch: pytest.MonkeyPatch) -> None:
    sound = Sound(["Built-in", "Headset"], None)
    monkeypatch.setitem(sys.modules, "miniaudio", sound)
    for wanted, name in ((None, "Headset"), ("built", "Built-in")):
        microphone = Microphone(wanted)
        microphone.open()
        assert microphone.name == name
    assert sound.opened == 2
