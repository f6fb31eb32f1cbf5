"""`listen` with a sound server of the test's own: a recording played into a microphone, the reply recorded from the
speaker, and the microphone unplugged while it is spoken into."""

from __future__ import annotations

import os
import signal
import subprocess
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.live.conftest import COMMAND_WAV, MICROPHONE, SoundServer, assistant, environment, microphone_wav, within

pytestmark = [pytest.mark.slow, pytest.mark.vosk]

@pytest.fixture
def say(tmp_path: Path) -> Callable[[str], Path]:
    """A recording of the text by espeak-ng, between short silences."""
    from assistant.speaking.espeak_mouth import EspeakMouth
    from assistant.speaking.loudspeaker import Loudspeaker
    from assistant.speaking.mouth import VoiceSettings

    mouth = EspeakMouth(VoiceSettings(), Loudspeaker())

    def said(text: str) -> Path:
        spoken, target = tmp_path / "spoken.wav", tmp_path / f"{text.replace(' ', '-')}.wav"
        mouth.save(text, spoken)
        return microphone_wav(spoken, target, before_s=0.5, after_s=1.0)

    return said


class Listener:
    """`listen` as a process of its own; `text` is what it wrote."""

    def __init__(self, sound: SoundServer, folder: Path, *more: str) -> None:
        self.sound = sound
        self.output = folder / "listen.txt"
        command = assistant("listen", "--microphone", MICROPHONE, "--record", str(folder / "record"), "--new", *more)
        with self.output.open("wb") as output:
            self.process = sound.start(command, stdout=output, stderr=output, stdin=subprocess.DEVNULL)
        self.within(60, "Speak", "key", "Say")

    def text(self) -> str:
        return " ".join(self.output.read_text(encoding="utf-8").split())

    def within(self, seconds: float, *words: str, times: int = 1) -> str:
        """What it wrote, once one of the words stands in it so often."""

        def found() -> str | None:
            text = self.text()
            assert self.process.poll() is None, text
            return text if any(text.count(word) >= times for word in words) else None

        return str(within(seconds, found, f"{words} {times} times in what was written", self.text))

    def answers(self, wav: Path, words: str) -> None:
        self.sound.speak_until(wav, lambda seconds: self.within(seconds, words))

    def stop(self) -> int:
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(20)


def test_a_command_goes_in_by_the_microphone_and_the_reply_comes_out(sound: SoundServer, tmp_path: Path) -> None:
    recording = sound.record(tmp_path / "reply.wav")
    listener = Listener(sound, tmp_path)
    time.sleep(2.0)  # the sound server gives its first samples
    listener.answers(COMMAND_WAV, "About thirteen minutes")
    time.sleep(6.0)  # the reply is being spoken
    assert listener.stop() == 0
    recording.terminate()
    recording.wait(10)
    samples, _ = soundfile.read(tmp_path / "reply.wav")
    loud = np.sqrt(np.mean(samples[: len(samples) // 1600 * 1600].reshape(-1, 1600) ** 2, axis=1)) > 0.01
    assert loud.sum() / 10 > 2.0, "the reply lasts some seconds"


def test_the_microphone_is_unplugged_mid_word_and_comes_back(sound: SoundServer, tmp_path: Path) -> None:
    listener = Listener(sound, tmp_path, "--mute")
    time.sleep(2.0)
    speaking = sound.speak(COMMAND_WAV)
    time.sleep(1.0)
    # A sound server that a busy machine holds up for a second is gone and back as well: these are others.
    gone, back = (listener.text().count(word) + 1 for word in ("is gone", "is back"))
    sound.unplug(MICROPHONE)
    listener.within(30, "is gone", times=gone)
    speaking.wait(30)
    sound.sinks[MICROPHONE] = sound.plug(MICROPHONE)
    listener.within(30, "is back", times=back)
    time.sleep(3.0)
    listener.answers(COMMAND_WAV, "About thirteen minutes")
    assert listener.stop() == 0


def test_no_such_microphone_is_one_line(sound: SoundServer, tmp_path: Path) -> None:
    done = subprocess.run(
        assistant("listen", "--microphone", "no such thing", "--record", str(tmp_path / "record")),
        env=sound.environment, capture_output=True, text=True, timeout=60, stdin=subprocess.DEVNULL,
    )  # fmt: skip
    assert done.returncode == 2
    assert "no microphone called 'no such thing'" in done.stderr
    assert MICROPHONE in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_no_sound_system_is_one_line(tmp_path: Path) -> None:
    done = subprocess.run(
        assistant("listen", "--record", str(tmp_path / "record")), capture_output=True, text=True, timeout=60,
        env=environment(PULSE_SERVER=f"unix:{tmp_path}/none", XDG_RUNTIME_DIR=str(tmp_path)),
        stdin=subprocess.DEVNULL,
    )  # fmt: skip
    if done.returncode != 2:
        pytest.skip("this machine has a microphone without a sound server")
    assert "There is no microphone" in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_a_drill_is_played_by_voice(sound: SoundServer, say: Callable[[str], Path], tmp_path: Path) -> None:
    listener = Listener(sound, tmp_path, "--mute", "--drill", "2")
    listener.within(20, "This is a drill")
    time.sleep(2.0)
    listener.answers(say("look"), "The needle shows")
    listener.answers(say("small cylinder"), "Small, delta")
    assert listener.stop() == 0
    assert "size told" in listener.output.read_text(encoding="utf-8")


def test_the_call_word_alone_is_listened_for(sound: SoundServer, tmp_path: Path) -> None:
    listener = Listener(sound, tmp_path, "--mute", "--address", "call_word")
    time.sleep(2.0)
    sound.speak(COMMAND_WAV).wait(30)
    time.sleep(4.0)
    assert "thirteen" not in listener.within(5, "Say")
    assert listener.stop() == 0
    assert os.listdir(tmp_path / "record")
