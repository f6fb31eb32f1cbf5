"""Endless sound that is nobody's speech, from a seed: noises, tones, knocks, and bytes of all kinds taken for samples.

Gives pairs of a kind and 3 to 20 seconds of float32 mono at 16 kHz; some are as loud as a microphone can.
"""

from __future__ import annotations

import io
import wave
import zlib
from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 16_000
SHORTEST_S, LONGEST_S = 3.0, 20.0
Samples = NDArray[np.float32]


def noises(seed: int) -> Iterator[tuple[str, Samples]]:
    """(kind, samples) for ever, the same for the same seed."""
    chance = np.random.default_rng(seed)
    kinds: tuple[tuple[str, Callable[[np.random.Generator, int], NDArray[np.float64]]], ...] = (
        ("white noise", lambda chance, n: chance.standard_normal(n)),
        ("pink noise", lambda chance, n: _coloured(chance, n, 0.5)),
        ("brown noise", lambda chance, n: _coloured(chance, n, 1.0)),
        ("gusts", _gusts),
        ("syllables of noise", _syllables),
        ("tones", _tones),
        ("sweeps", _sweeps),
        ("knocks", _knocks),
        ("buzz", _buzz),
        ("random bytes", lambda chance, n: _as_samples(chance.bytes(2 * n))),
        ("packed bytes", lambda chance, n: _as_samples(_repeated(zlib.compress(chance.bytes(4000) * 3), 2 * n))),
        ("text as bytes", lambda chance, n: _as_samples(_repeated(_text(chance), 2 * n))),
        ("silence and clicks", _clicks),
    )
    while True:
        name, make = kinds[chance.integers(len(kinds))]
        made = make(chance, int(RATE_HZ * chance.uniform(SHORTEST_S, LONGEST_S)))
        yield name, _at_level(made, chance.uniform(-50, 3))


def wav_of_random_bytes(chance: np.random.Generator, seconds: float) -> bytes:
    """A whole WAV file whose samples are random bytes, of 1 to 4 bytes each, mono or stereo, at some rate."""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(int(chance.integers(1, 3)))
        file.setsampwidth(int(chance.integers(1, 5)))
        file.setframerate(int(chance.choice([8_000, 16_000, 22_050, 44_100, 48_000])))
        file.writeframes(chance.bytes(round(seconds * file.getframerate()) * file.getnchannels() * file.getsampwidth()))
    return out.getvalue()


def _at_level(samples: NDArray[np.float64], level_dbfs: float) -> Samples:
    """At so many dB below full scale, clipped where it goes beyond."""
    loudness = np.sqrt(np.mean(samples**2)) or 1.0
    return np.clip(samples / loudness * 10 ** (level_dbfs / 20), -1.0, 1.0).astype(np.float32)


def _coloured(chance: np.random.Generator, n: int, power: float) -> NDArray[np.float64]:
    spectrum = np.fft.rfft(chance.standard_normal(n))
    return np.fft.irfft(spectrum / np.maximum(np.arange(len(spectrum)), 1) ** power, n)


def _slow(chance: np.random.Generator, n: int, changes_hz: float) -> NDArray[np.float64]:
    """A line between random heights from 0 to 1."""
    points = max(2, int(n / RATE_HZ * changes_hz))
    return np.interp(np.linspace(0, points - 1, n), np.arange(points), chance.random(points))


def _gusts(chance: np.random.Generator, n: int) -> NDArray[np.float64]:
    return _coloured(chance, n, 0.8) * _slow(chance, n, 1.0) ** 3


def _syllables(chance: np.random.Generator, n: int) -> NDArray[np.float64]:
    """Noise that swells and falls as fast as speech does, in bands where speech has its own."""
    spectrum = np.fft.rfft(chance.standard_normal(n))
    hertz = np.fft.rfftfreq(n, 1 / RATE_HZ)
    bands = sum(np.exp(-(((hertz - middle) / 150) ** 2)) for middle in chance.uniform(250, 3_000, 3))
    return np.fft.irfft(spectrum * bands, n) * _slow(chance, n, chance.uniform(4, 12)) ** 2


def _tones(chance: np.random.Generator, n: int) -> NDArray[np.float64]:
    times = np.arange(n) / RATE_HZ
    return np.sum([np.sin(2 * np.pi * hertz * times) for hertz in chance.uniform(80, 4_000, 3)], axis=0) * (
        _slow(chance, n, 3.0) > 0.4
    )


def _sweeps(chance: np.random.Generator, n: int) -> NDArray[np.float64]:
    return np.sin(2 * np.pi * np.cumsum(100 + 3_000 * _slow(chance, n, 4.0)) / RATE_HZ)


def _knocks(chance: np.random.Generator, n: int) -> NDArray[np.float64]:
    blows = (chance.random(n) < 3 / RATE_HZ) * chance.standard_normal(n)
    times = np.arange(RATE_HZ // 4) / RATE_HZ
    ring = np.exp(-30 * times) * np.sin(2 * np.pi * chance.uniform(150, 1_500) * times)
    return np.convolve(blows, ring)[:n] + 1e-5 * chance.standard_normal(n)


def _buzz(chance: np.random.Generator, n: int) -> NDArray[np.float64]:
    """A voice's pitch and harmonics without words: a fixed vowel, on and off."""
    pitch = np.cumsum(chance.uniform(80, 220) * (1 + 0.1 * _slow(chance, n, 2.0))) / RATE_HZ
    return ((pitch % 1) - 0.5) * (_slow(chance, n, 3.0) > 0.5)


def _clicks(chance: np.random.Generator, n: int) -> NDArray[np.float64]:
    return (chance.random(n) < 8 / RATE_HZ) * chance.standard_normal(n) + 1e-9


def _as_samples(content: bytes) -> NDArray[np.float64]:
    return np.frombuffer(content, dtype="<i2").astype(np.float64)


def _repeated(content: bytes, length: int) -> bytes:
    return (content * (length // len(content) + 1))[: length // 2 * 2]


def _text(chance: np.random.Generator) -> bytes:
    return " ".join(chance.choice(["reads", "gauge", "fifteen", "litres", "\n"], 5_000)).encode()
