"""Any PCM WAV is read to the same samples; what is no such file is refused in one line."""

from __future__ import annotations

import re
import struct
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.hearing import WavError, read_wav

SUBTYPES = ("PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE")
RATES_HZ = (8_000, 11_025, 16_000, 22_050, 44_100, 48_000, 96_000)


def tone(rate_hz: int, *, hz: float = 440.0, seconds: float = 0.5) -> np.ndarray:
    return 0.5 * np.sin(2 * np.pi * hz * np.arange(int(rate_hz * seconds)) / rate_hz)


def strength(samples: np.ndarray, hz: float) -> float:
    """Amplitude of one frequency, away from the ends."""
    middle = samples[1_600:-1_600]
    return 2 * abs(np.mean(middle * np.exp(-2j * np.pi * hz * np.arange(len(middle)) / 16_000)))


@pytest.mark.parametrize("subtype", SUBTYPES)
@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("channels", [1, 2])
def test_every_format_gives_the_same_tone(tmp_path: Path, subtype: str, rate_hz: int, channels: int) -> None:
    path = tmp_path / "tone.wav"
    soundfile.write(path, np.stack([tone(rate_hz)] * channels, axis=1), rate_hz, subtype=subtype)
    samples = read_wav(path)
    assert samples.dtype == np.float32
    assert samples.ndim == 1
    assert abs(len(samples) - 8_000) <= 1
    assert strength(samples, 440.0) == pytest.approx(0.5, abs=0.01)


def test_what_16_khz_cannot_hold_is_filtered_and_not_folded(tmp_path: Path) -> None:
    path = tmp_path / "high.wav"
    soundfile.write(path, tone(48_000, hz=10_000.0), 48_000)  # would fold to 6 kHz
    assert strength(read_wav(path), 6_000.0) < 0.001


def test_channels_are_averaged(tmp_path: Path) -> None:
    path = tmp_path / "left.wav"
    soundfile.write(path, np.stack([tone(16_000), np.zeros(8_000)], axis=1), 16_000)
    assert strength(read_wav(path), 440.0) == pytest.approx(0.25, abs=0.005)


def test_a_piped_wav_of_unknown_length_is_read_to_its_end(tmp_path: Path) -> None:
    path = tmp_path / "piped.wav"
    soundfile.write(path, tone(16_000), 16_000)
    path.write_bytes(with_data_length(path.read_bytes(), 0xFFFFFFFF))
    assert len(read_wav(path)) == 8_000


def with_data_length(wav: bytes, length: int) -> bytes:
    at = wav.index(b"data") + 4
    return wav[:at] + struct.pack("<I", length) + wav[at + 4 :]


def wav_bytes(tmp_path: Path, samples: np.ndarray, rate_hz: int = 16_000, **how: str) -> bytes:
    soundfile.write(tmp_path / "made.wav", samples, rate_hz, **how)
    return (tmp_path / "made.wav").read_bytes()


def bad_files(tmp_path: Path) -> dict[str, tuple[bytes, str]]:
    whole = wav_bytes(tmp_path, tone(16_000))
    soundfile.write(tmp_path / "made.flac", tone(16_000), 16_000)
    return {
        "nothing in it": (b"", "the file is empty"),
        "a text": (b"bottle reads fifteen hundred, small cylinder", "not a WAV file"),
        "a short text": (b"RIFF", "not a WAV file"),
        "another sound format": ((tmp_path / "made.flac").read_bytes(), "not a WAV file"),
        "no sound": (wav_bytes(tmp_path, np.zeros(0)), "there is no sound"),
        "cut in the sound": (whole[:3_000], "truncated, 2956 of 16000 bytes"),
        "cut in the head": (whole[:30], "truncated, the file ends before its sound begins"),
        "cut at the sound": (whole[:44], "there is no sound"),
        "not PCM": (wav_bytes(tmp_path, tone(16_000), subtype="IMA_ADPCM"), "only PCM can be read"),
        "a rate of 100": (whole[:24] + struct.pack("<I", 100) + whole[28:], "100 samples a second"),
        "a rate of 0": (whole[:24] + struct.pack("<I", 0) + whole[28:], "not a WAV file that can be read"),
        "no channel": (whole[:22] + struct.pack("<H", 0) + whole[24:], "not a WAV file that can be read"),
        "sixty channels": (whole[:22] + struct.pack("<HI", 60, 16_000) + whole[28:], "60 channels"),
    }


NAMES = [
    "nothing in it",
    "a text",
    "a short text",
    "another sound format",
    "no sound",
    "cut in the sound",
    "cut in the head",
    "cut at the sound",
    "not PCM",
    "a rate of 100",
    "a rate of 0",
    "no channel",
    "sixty channels",
]


@pytest.mark.parametrize("name", NAMES)
def test_a_bad_file_is_refused_in_one_clear_line(tmp_path: Path, name: str) -> None:
    content, why = bad_files(tmp_path)[name]
    path = tmp_path / "bad.wav"
    path.write_bytes(content)
    with pytest.raises(WavError, match=re.escape(why)) as refused:
        read_wav(path)
    assert "bad.wav" in str(refused.value)
    assert "\n" not in str(refused.value)


def test_hours_of_sound_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "two-hours.wav"
    path.write_bytes(with_data_length(wav_bytes(tmp_path, tone(16_000)), 2 * 3_600 * 32_000))
    with path.open("r+b") as file:
        file.truncate(44 + 2 * 3_600 * 32_000)
    with pytest.raises(WavError, match=r"2\.0 hours of sound"):
        read_wav(path)


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    with pytest.raises(WavError, match="No such file"):
        read_wav(tmp_path / "none.wav")
    with pytest.raises(WavError):
        read_wav(tmp_path)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(cut=st.integers(0, 400), changes=st.lists(st.tuples(st.integers(0, 60), st.integers(0, 255)), max_size=4))
def test_a_damaged_file_gives_samples_or_a_wav_error(tmp_path: Path, cut: int, changes: list[tuple[int, int]]) -> None:
    content = bytearray(wav_bytes(tmp_path, tone(16_000, seconds=0.01)))
    for at, value in changes:
        content[at] = value
    path = tmp_path / "damaged.wav"
    path.write_bytes(content[: len(content) - cut])
    try:
        samples = read_wav(path)
    except WavError:
        return
    assert np.isfinite(samples).all()
    assert np.abs(samples).max(initial=0.0) <= 1.0
