"""The voice writes whole WAV files, says once that there is no speaker, and goes on."""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.speaking import SilentMouth, SpeakingError, VoiceSettings, open_mouth
from assistant.speaking import loudspeaker as loudspeaker_module
from assistant.speaking.espeak_mouth import EspeakMouth
from assistant.speaking.loudspeaker import Loudspeaker

REPLY = "Bottle one, fifteen hundred. Small, delta. Fifteen litres. About thirteen minutes to reserve."


class Recorder:
    """A loudspeaker that keeps what it is given."""

    def __init__(self) -> None:
        self.played: list[tuple[np.ndarray, int]] = []

    def play(self, samples: np.ndarray, rate_hz: int) -> None:
        self.played.append((samples, rate_hz))

    def stop(self) -> None: ...


def mouth(**settings: object) -> EspeakMouth:
    return EspeakMouth(VoiceSettings(**settings), Recorder())


def test_a_saved_reply_is_the_whole_reply(tmp_path: Path) -> None:
    path = tmp_path / "new folder" / "reply.wav"
    mouth().save(REPLY, path)
    about = soundfile.info(path)
    assert (about.format, about.subtype, about.channels) == ("WAV", "PCM_16", 1)
    samples, rate_hz = soundfile.read(path)
    assert 5.0 < len(samples) / rate_hz < 12.0  # thirteen words and their pauses at 160 words a minute
    loud = np.flatnonzero(np.abs(samples) > 0.05)
    assert loud[0] / rate_hz < 0.3
    assert loud[-1] / rate_hz > len(samples) / rate_hz - 1.0


def test_the_end_of_a_reply_is_not_cut() -> None:
    """The speech of a text begins like the speech of its first sentence and is longer by the second."""
    one, _ = mouth().samples("Bottle one.")
    both, _ = mouth().samples("Bottle one. Fifteen hundred.")
    second, _ = mouth().samples("Fifteen hundred.")
    assert len(both) == pytest.approx(len(one) + len(second), rel=0.1)


def test_a_faster_voice_is_shorter_and_a_softer_one_quieter() -> None:
    usual, _ = mouth().samples(REPLY)
    fast, _ = mouth(rate_words_per_min=260).samples(REPLY)
    soft, _ = mouth(volume=0.3).samples(REPLY)
    assert len(fast) < 0.75 * len(usual)
    assert np.abs(soft).max() < 0.5 * np.abs(usual).max()


def test_no_words_make_no_sound_that_matters(tmp_path: Path) -> None:
    mouth().save("", tmp_path / "nothing.wav")
    samples, _ = soundfile.read(tmp_path / "nothing.wav")
    assert np.abs(samples).max(initial=0.0) < 0.01


@pytest.mark.parametrize(
    ("settings", "why"),
    [
        ({"rate_words_per_min": 20}, "20 words a minute is not within 80 to 450"),
        ({"volume": 1.5}, "a volume of 1.5 is not within 0 to 1"),
    ],
)
def test_settings_out_of_range_are_refused(settings: dict[str, float], why: str) -> None:
    with pytest.raises(SpeakingError, match=why):
        VoiceSettings(**settings)


def test_an_unknown_voice_is_refused_by_name() -> None:
    with pytest.raises(SpeakingError, match="no voice called 'xx-nobody'"):
        mouth(voice="xx-nobody").samples("hello")


def test_a_file_that_cannot_be_written_is_said_in_one_line(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(SpeakingError, match="the speech cannot be written") as refused:
        mouth().save("hello", tmp_path / "file" / "reply.wav")
    assert "\n" not in str(refused.value)


def test_without_a_speaker_it_says_so_once_and_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(loudspeaker_module, "_opened", no_device)
    notices: list[str] = []
    speaking = open_mouth(notice=notices.append)
    speaking.speak("one")
    speaking.speak("two")
    assert notices == ["There is no loudspeaker (nothing plugged in): replies are written, not spoken."]


def no_device(rate_hz: int) -> object:
    raise RuntimeError("nothing plugged in")


class Device:
    """A playback device that asks for 10 ms at a time from a thread of its own."""

    def __init__(self, rate_hz: int) -> None:
        self.rate_hz = rate_hz
        self.taken = b""
        self._open = threading.Event()
        self._thread: threading.Thread | None = None

    def __enter__(self) -> Device:
        return self

    def __exit__(self, *_: object) -> None:
        self._open.set()
        if self._thread:
            self._thread.join()

    def start(self, source: object) -> None:
        self._thread = threading.Thread(target=self._pull, args=(source,))
        self._thread.start()

    def _pull(self, source: object) -> None:
        while not self._open.is_set():
            self.taken += source.send(self.rate_hz // 100)
            time.sleep(0.0005)


def test_the_device_gets_every_sample_in_order(monkeypatch: pytest.MonkeyPatch) -> None:
    device = Device(22_050)
    monkeypatch.setattr(loudspeaker_module, "_opened", lambda rate_hz: device)
    samples = np.arange(1, 5_000, dtype=np.int16)
    Loudspeaker().play(samples, 22_050)
    assert device.taken.startswith(samples.tobytes())
    assert not device.taken[len(samples) * 2 :].strip(b"\0")


def test_hush_stops_a_long_reply(monkeypatch: pytest.MonkeyPatch) -> None:
    device = Device(22_050)
    monkeypatch.setattr(loudspeaker_module, "_opened", lambda rate_hz: device)
    speaker = Loudspeaker()
    speaking = threading.Thread(target=speaker.play, args=(np.ones(22_050 * 600, np.int16), 22_050))
    speaking.start()
    while not device.taken:
        time.sleep(0.001)
    speaker.stop()
    speaking.join(timeout=5)
    assert not speaking.is_alive()
    assert len(device.taken) < 22_050 * 600 * 2


def test_the_silent_mouth_keeps_what_it_was_given(tmp_path: Path) -> None:
    silent = SilentMouth()
    silent.speak("one")
    silent.save("two", tmp_path / "two.wav")
    assert silent.said == ["one"]
    assert silent.saved == {tmp_path / "two.wav": "two"}
    assert not (tmp_path / "two.wav").exists()


def test_nothing_is_printed_and_nothing_heavy_is_imported(tmp_path: Path) -> None:
    """Standard output belongs to the JSON lines."""
    program = (
        "import sys; from pathlib import Path; from assistant.speaking import open_mouth; import assistant.hearing\n"
        "heavy = {'numpy', 'soundfile', 'soxr', 'vosk', 'pocketsphinx', 'pyttsx3', 'miniaudio', 'kaldifst', 'rich'}\n"
        "assert not heavy & set(sys.modules), heavy & set(sys.modules)\n"
        "mouth = open_mouth(); mouth.save('hello', Path(sys.argv[1])); mouth.speak('hello')\n"
    )
    done = subprocess.run([sys.executable, "-c", program, str(tmp_path / "a.wav")], capture_output=True, text=True)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
