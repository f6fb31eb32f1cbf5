"""Speech is told from silence and steady noise; the gate before the recogniser loses no speech."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.hearing import breath, read_wav
from assistant.hearing.breath import LONGEST_PIECE, heard_whole, pieces
from assistant.hearing.voice_activity import FRAME_S, VoiceActivity, may_hold_speech
from assistant.utterance import Hypothesis, Utterance

HUMAN_SPEECH = Path(__file__).resolve().parents[3] / "shared" / "human_speech"
Samples = NDArray[np.float32]


def white(count: int, seed: int = 0) -> Samples:
    return np.random.default_rng(seed).standard_normal(count).astype(np.float32) * 0.05


def pink(count: int, seed: int = 0) -> Samples:
    spectrum = np.fft.rfft(white(count, seed))
    return np.fft.irfft(spectrum / np.sqrt(np.maximum(np.arange(len(spectrum)), 1.0)), count).astype(np.float32)


NOISES = {"white": white, "pink": pink}


def in_noise(speech: Samples, noise: Samples, snr_db: float) -> Samples:
    gain = speech.std() / noise.std() * 10 ** (-snr_db / 20)
    return (speech + gain * noise).astype(np.float32)


@pytest.mark.parametrize("noise", NOISES)
@pytest.mark.parametrize("seconds", [1, 10, pytest.param(600, marks=pytest.mark.slow)])
def test_the_gate_shuts_for_steady_noise(noise: str, seconds: int) -> None:
    for level in (0.01, 0.3, 3.0):
        assert not may_hold_speech(level * NOISES[noise](seconds * 16_000))


@pytest.mark.parametrize("seconds", [30, pytest.param(600, marks=pytest.mark.slow)])
def test_the_gate_shuts_for_noise_in_gusts(seconds: int) -> None:
    """Such noise, let through, was once heard as "help"."""
    count = seconds * 16_000
    gusts = np.interp(np.arange(count), np.arange(0, count + 8_000, 8_000), gust_levels(2 * seconds + 1))
    assert not may_hold_speech((white(count) * gusts).astype(np.float32))


def whistle(count: int) -> Samples:
    heights = np.interp(np.arange(count), np.linspace(0, count, 40), np.random.default_rng(3).uniform(200, 3_000, 40))
    return (0.3 * np.sin(2 * np.pi * np.cumsum(heights) / 16_000)).astype(np.float32)


def knocks(count: int) -> Samples:
    times = np.arange(4_000) / 16_000
    blows = (np.arange(count) % 9_000 == 0).astype(float)
    return np.convolve(blows, np.exp(-30 * times) * np.sin(2 * np.pi * 700 * times))[:count].astype(np.float32)


@pytest.mark.parametrize("sound", [whistle, knocks])
def test_the_gate_shuts_for_what_is_purer_than_a_voice(sound: Callable[[int], Samples]) -> None:
    """A whistle, let through, was once heard as "where were we", and knocks as "done"."""
    assert not may_hold_speech(sound(5 * 16_000))


def gust_levels(count: int) -> np.ndarray:
    return np.random.default_rng(7).uniform(0.05, 1.5, count)


def test_the_gate_shuts_for_silence() -> None:
    for count in (0, 100, 16_000, 160_000):
        assert not may_hold_speech(np.zeros(count, np.float32))


@pytest.mark.parametrize("noise", NOISES)
@pytest.mark.parametrize("snr_db", [20, 5, 0])
@pytest.mark.parametrize("text", ["yes", "stop", "bottle reads fifteen hundred"])
def test_the_gate_opens_for_speech_in_noise(say: Callable[[str], Samples], noise: str, snr_db: int, text: str) -> None:
    speech = say(text)
    assert may_hold_speech(in_noise(speech, NOISES[noise](len(speech)), snr_db))


def test_the_gate_opens_for_very_soft_speech(say: Callable[[str], Samples]) -> None:
    assert may_hold_speech(say("stop") * 0.003)


@pytest.mark.slow
@pytest.mark.skipif(not HUMAN_SPEECH.is_dir(), reason=f"no recordings of people in {HUMAN_SPEECH}")
@pytest.mark.parametrize("noise", NOISES)
@pytest.mark.parametrize("snr_db", [20, 5, 0, -5])
def test_the_gate_loses_none_of_the_recorded_people(noise: str, snr_db: int) -> None:
    files = [json.loads(line)["file"] for line in (HUMAN_SPEECH / "manifest.jsonl").read_text().splitlines()][::3]
    assert len(files) > 100
    for seed, file in enumerate(files):
        speech = read_wav(HUMAN_SPEECH / file)
        assert may_hold_speech(in_noise(speech, NOISES[noise](len(speech), seed), snr_db)), file


@pytest.mark.parametrize("noise", NOISES)
@pytest.mark.parametrize("snr_db", [20, 10])
def test_a_breath_begins_and_ends(say: Callable[[str], Samples], noise: str, snr_db: int) -> None:
    """Two seconds of noise, speech, two seconds of noise, fed as a microphone feeds."""
    speech = say("bottle reads fifteen hundred")
    still = np.zeros(32_000, np.float32)
    samples = np.concatenate([still, speech, still])
    samples += NOISES[noise](len(samples)) / 0.05 * speech.std() * 10 ** (-snr_db / 20)
    activity = VoiceActivity()
    began_s = ended_s = None
    for at in range(0, len(samples), 480):
        activity.accept(samples[at : at + 480])
        if began_s is None and activity.heard_speech:
            began_s = at / 16_000
        if ended_s is None and began_s is not None and not activity.speaking(pause_s=0.4):
            ended_s = at / 16_000
    assert began_s == pytest.approx(2.0, abs=0.35)
    assert ended_s == pytest.approx(2.0 + len(speech) / 16_000 + 0.4, abs=0.6)


def test_steady_noise_alone_is_no_breath() -> None:
    activity = VoiceActivity()
    activity.accept(white(60 * 16_000))
    assert not activity.heard_speech
    assert activity.silence_s == pytest.approx(60.0)


def test_speech_from_the_first_sample_is_heard(say: Callable[[str], Samples]) -> None:
    activity = VoiceActivity()
    activity.accept(say("small cylinder"))
    assert activity.heard_speech


def test_the_size_of_the_bits_does_not_matter(say: Callable[[str], Samples]) -> None:
    samples = say("small cylinder")
    whole, bits = VoiceActivity(), VoiceActivity()
    at_once = whole.accept(samples)
    bit_by_bit = [frame for at in range(0, len(samples), 333) for frame in bits.accept(samples[at : at + 333])]
    assert list(at_once) == bit_by_bit
    assert len(at_once) == int(len(samples) / 16_000 / FRAME_S)


def test_a_new_utterance_starts_afresh(say: Callable[[str], Samples]) -> None:
    activity = VoiceActivity()
    activity.accept(say("small cylinder"))
    activity.restart()
    assert (activity.heard_speech, activity.speech_s, activity.silence_s) == (False, 0.0, 0.0)


class Echo:
    """A stream that hears one word, named after the length of what it got."""

    def __init__(self) -> None:
        self.count = 0

    def accept(self, samples: Samples) -> str:
        self.count += len(samples)
        return ""

    def finish(self) -> Utterance:
        return Utterance(hypotheses=(Hypothesis(words=(str(self.count),), log_likelihood=-1.0),), seconds=1.0)


class OneWord(Echo):
    """Hears "no" in whatever it gets."""

    def finish(self) -> Utterance:
        return Utterance(hypotheses=(Hypothesis(words=("no",), log_likelihood=-1.0),), seconds=1.0)


def test_one_word_does_not_account_for_a_long_noise(say: Callable[[str], Samples]) -> None:
    """Noise that swells as syllables do was once heard as a "no", which took a value back."""
    count = 8 * 16_000
    swells = np.interp(np.arange(count), np.linspace(0, count, 60), np.random.default_rng(5).uniform(0, 1, 60)) ** 2
    spectrum = np.fft.rfft(white(count))
    hertz = np.fft.rfftfreq(count, 1 / 16_000)
    bands = sum(np.exp(-(((hertz - middle) / 150) ** 2)) for middle in (500, 1_300, 2_400))
    murmur = np.fft.irfft(spectrum * bands, count)
    noise = (murmur / murmur.std() * 0.1 * swells + white(count, 1) * 0.02).astype(np.float32)
    assert may_hold_speech(noise)
    assert heard_whole(noise, OneWord).best.words == ()
    assert heard_whole(say("no"), OneWord).best.words == ("no",)
    still = np.zeros(48_000, np.float32)
    assert heard_whole(np.concatenate([still, say("no"), still]), OneWord).best.words == ("no",)


def test_a_long_recording_is_heard_in_pieces_and_joined(monkeypatch: pytest.MonkeyPatch) -> None:
    waxing = np.sin(np.linspace(0, 40 * np.pi, 20 * 16_000, dtype=np.float32))  # steady noise would be gated away
    loud, soft = white(20 * 16_000) * waxing, white(16_000) * 0.001
    samples = np.concatenate([loud, loud, soft, loud, loud, soft, loud])
    cut = [len(piece) for piece in pieces(samples)]
    assert sum(cut) == len(samples)
    assert all(length <= LONGEST_PIECE for length in cut)
    assert cut[0] == pytest.approx(40.5 * 16_000, abs=8_000)  # in the soft second
    monkeypatch.setattr(breath, "may_hold_speech", lambda piece: True)
    monkeypatch.setattr(breath, "is_talk", lambda speech_s, words: True)
    heard = heard_whole(samples, Echo)
    assert heard.best.words == tuple(str(length) for length in cut)
    assert heard.best.log_likelihood == -1.0 * len(cut)
    assert heard.seconds == len(samples) / 16_000
