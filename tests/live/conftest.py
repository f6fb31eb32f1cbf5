"""What the live tests share: a running server, a headless browser, a sound server; each skips where its tool is not."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "audio_samples"
COMMAND_WAV = SAMPLES / "bottle-reads-fifteen-hundred-small-cylinder-fifteen-litres.espeak-gb-f4.wav"
STARTED_WITHIN_S = 60.0
MICROPHONE, SPEAKER = "field_microphone", "field_speaker"


def assistant(*arguments: str) -> list[str]:
    """The command line of the program under test."""
    return [sys.executable, "-m", "assistant", *arguments]


def environment(**more: str) -> dict[str, str]:
    """This process's environment, with the repository importable."""
    return {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1", **more}


def needs(program: str) -> str:
    """The program's path; the test is skipped where it is not installed."""
    found = shutil.which(program)
    if found is None:
        pytest.skip(f"{program} is not installed")
    return found


def within(seconds: float, true: Callable[[], Any], what: str, shown: Callable[[], str] = str) -> Any:
    """What `true` gives as soon as it is true; fails, naming `what`, where it never is."""
    until_s = time.monotonic() + seconds
    while time.monotonic() < until_s:
        if found := true():
            return found
        time.sleep(0.05)
    pytest.fail(f"not within {seconds:g} s: {what}\n{shown()}")


def microphone_wav(command: Path, target: Path, *, before_s: float = 1.0, after_s: float = 30.0) -> Path:
    """The command between silences with a trace of noise, as a microphone gives it, at 48 kHz."""
    import soxr

    samples, rate_hz = soundfile.read(command, dtype="float32")
    speech = soxr.resample(samples, rate_hz, 48_000)
    rng = np.random.default_rng(1)
    room = [rng.standard_normal(round(seconds * 48_000)).astype(np.float32) * 3e-4 for seconds in (before_s, after_s)]
    soundfile.write(target, np.concatenate([room[0], speech, room[1]]), 48_000, subtype="PCM_16")
    return target


class Server:
    """`serve` as a process of its own."""

    def __init__(self, folder: Path, *more: str) -> None:
        self.folder = folder
        self.errors = folder / "serve.err"
        with self.errors.open("wb") as errors:
            self.process = subprocess.Popen(
                assistant("serve", "--port", "0", "--record", str(folder / "record"), *more),
                stdout=subprocess.PIPE, stderr=errors, env=environment(), text=True,
            )  # fmt: skip
        assert self.process.stdout is not None
        line = self.process.stdout.readline()
        found = re.search(r"https?://\S+", line)
        assert found is not None, f"{line!r} {self.errors.read_text()}"
        self.url = found.group(0)

    @property
    def port(self) -> int:
        found = re.search(r":(\d+)/", self.url)
        assert found is not None
        return int(found.group(1))

    def stop(self) -> None:
        self.process.terminate()
        self.process.wait(20)
        assert self.process.stdout is not None
        self.process.stdout.close()


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

    def speak_until(self, wav: Path, answered: Callable[[float], Any]) -> None:
        """Speaks it, and again where a busy machine left gaps in it; `answered` fails where no answer comes in time."""
        for _ in range(2):
            self.speak(wav).wait(30)
            with contextlib.suppress(pytest.fail.Exception):
                answered(20.0)
                return
        self.speak(wav).wait(30)
        answered(60.0)

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
def served(tmp_path: Path) -> Iterator[Server]:
    server = Server(tmp_path)
    yield server
    server.stop()


@pytest.fixture
def browsing() -> Iterator[Callable[..., Any]]:
    """Opens headless browsers; `wav` is what their microphone hears, None for one that has no microphone."""
    chromium = needs("chromium")
    playwright = pytest.importorskip("playwright.sync_api")
    opened: list[Any] = []
    with playwright.sync_playwright() as driver:

        def browser(wav: Path | None = None, *, allowed: bool = True) -> Any:
            flags = ["--no-sandbox", "--autoplay-policy=no-user-gesture-required"]
            if wav is not None:
                flags += ["--use-fake-device-for-media-stream", f"--use-file-for-fake-audio-capture={wav}"]
            if allowed:
                flags.append("--use-fake-ui-for-media-stream")
            opened.append(driver.chromium.launch(executable_path=chromium, args=flags))
            return opened[-1].new_context(viewport={"width": 1024, "height": 768})

        yield browser
        for each in opened:
            each.close()
