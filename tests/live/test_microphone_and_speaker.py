"""`listen` with a sound server of the test's own: a recording played into a microphone, the reply recorded from the
speaker, and the microphone unplugged while it is spoken into."""

from __future__ import annotations

import os
import signal
import subprocess
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from tests.live.conftest import COMMAND_WAV, assistant, environment, microphone_wav, needs, within

pytestmark = [pytest.mark.slow, pytest.mark.vosk]
MICROPHONE, SPEAKER = "field_microphone", "field_speaker"


class SoundServer:
    """A PulseAudio of our own with a microphone to speak into (a null sink's monitor) and a speaker to listen at."""

    def __init__(self, folder: Path) -> None:
        program = needs("pulseaudio")
        needs("pactl")
        needs("paplay")
        self.address = f"unix:{folder}/native"
        self.environment = environment(
            XDG_RUNTIME_DIR=str(folder), PULSE_RUNTIME_PATH=str(folder), PULSE_SERVER=self.address
        )
        self.started: list[subprocess.Popen[bytes]] = []
        native = f"module-native-protocol-unix socket={folder}/native auth-anonymous=1"
        command = [program, "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no", "--log-level=error"]
        self.process = subprocess.Popen([*command, f"--load={native}"], env=self.environment)
        within(15, lambda: (folder / "native").exists(), "the sound server's socket")
        self.sinks = {name: self.plug(name) for name in (MICROPHONE, SPEAKER)}
        self.control("set-default-sink", SPEAKER)

    def plug(self, name: str) -> str:
        described = f"sink_properties=device.description={name}"
        return self.control("load-module", "module-null-sink", f"sink_name={name}", described)

    def unplug(self, name: str) -> None:
        self.control("unload-module", self.sinks[name])

    def control(self, *arguments: str) -> str:
        done = subprocess.run(["pactl", *arguments], env=self.environment, capture_output=True, text=True, timeout=20)
        assert done.returncode == 0, done.stderr
        return done.stdout.strip()

    def speak(self, wav: Path) -> subprocess.Popen[bytes]:
        return self.start(["paplay", f"--device={MICROPHONE}", str(wav)])

    def start(self, command: list[str], **options: Any) -> subprocess.Popen[bytes]:
        """A program in this server's surroundings; the fixture ends it where the test does not."""
        self.started.append(subprocess.Popen(command, env=self.environment, **options))
        return self.started[-1]

    def record(self, wav: Path) -> subprocess.Popen[bytes]:
        command = ["parecord", f"--device={SPEAKER}.monitor", "--rate=16000", "--channels=1", "--format=s16le"]
        return self.start([*command, "--file-format=wav", str(wav)])

    def stop(self) -> None:
        self.process.terminate()
        self.process.wait(10)


@pytest.fixture
def sound(tmp_path: Path) -> Iterator[SoundServer]:
    folder = tmp_path / "sound"
    folder.mkdir(mode=0o700)
    server = SoundServer(folder)
    yield server
    for each in server.started:
        if each.poll() is None:
            each.kill()
        each.wait(10)
    server.stop()


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
    """`listen` as a process of its own; `said` is what it wrote."""

    def __init__(self, sound: SoundServer, folder: Path, *more: str) -> None:
        self.output = folder / "listen.txt"
        command = assistant("listen", "--microphone", MICROPHONE, "--record", str(folder / "record"), "--new", *more)
        with self.output.open("wb") as output:
            self.process = sound.start(command, stdout=output, stderr=output, stdin=subprocess.DEVNULL)
        self.within(60, "Speak", "key", "Say")

    def within(self, seconds: float, *words: str) -> str:
        def found() -> str | None:
            text = " ".join(self.output.read_text(encoding="utf-8").split())
            assert self.process.poll() is None, text
            return text if any(word in text for word in words) else None

        return str(within(seconds, found, f"{words} in what was written"))

    def stop(self) -> int:
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(20)


def test_a_command_goes_in_by_the_microphone_and_the_reply_comes_out(sound: SoundServer, tmp_path: Path) -> None:
    recording = sound.record(tmp_path / "reply.wav")
    listener = Listener(sound, tmp_path)
    time.sleep(2.0)  # the sound server gives its first samples
    sound.speak(COMMAND_WAV).wait(30)
    listener.within(20, "About thirteen minutes")
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
    sound.unplug(MICROPHONE)
    listener.within(20, "is gone")
    speaking.wait(30)
    sound.sinks[MICROPHONE] = sound.plug(MICROPHONE)
    listener.within(20, "is back")
    time.sleep(3.0)
    sound.speak(COMMAND_WAV).wait(30)
    listener.within(20, "About thirteen minutes")
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
    sound.speak(say("look")).wait(30)
    listener.within(20, "The needle shows")
    sound.speak(say("small cylinder")).wait(30)
    listener.within(20, "Small, delta")
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
