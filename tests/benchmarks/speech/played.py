"""From an item and a condition to the samples that the ears get, and the audio's identity for the cache."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile
import soxr
from conditions import CONDITIONS, RATE_HZ, in_condition, noise_alone
from corpora import Clip, Item, babblers, seed_of
from voices import Line, speak_all

_RECIPE = hashlib.sha256((Path(__file__).with_name("conditions.py")).read_bytes()).hexdigest()[:12]
NOISE_S = 6.0


def audio_id(item: Item, condition: str) -> str:
    """Changes when the samples would: the clip's file, the condition, the seed's name and the code that mixes."""
    source = item.clip.path.name if item.kind != "noise" else "none"
    return hashlib.sha256(f"{_RECIPE}|{source}|{condition}|{item.name}".encode()).hexdigest()[:24]


def speak(which: str, items: Iterable[Item], conditions: Iterable[str]) -> None:
    """Makes every synthetic clip that is missing: the items' own, and the babble behind them where it is wanted."""
    lines: dict[Path, Line] = {}
    babble = any(CONDITIONS[name].noise == "babble" for name in conditions)
    for item in items:
        for clip in (item.clip, *(babblers(which, item) if babble else ())):
            if clip.line is not None:
                lines[clip.path] = clip.line
    speak_all(lines.values())


def played(which: str, item: Item, condition: str) -> npt.NDArray[np.float32]:
    """The samples of the item in the condition."""
    place = CONDITIONS[condition]
    seed = seed_of(condition, item.name)
    talk = [_read(clip.path) for clip in babblers(which, item)] if place.noise == "babble" else []
    if item.kind == "noise":
        return noise_alone(place, NOISE_S, seed, talk)
    return in_condition(_read(item.clip.path), place, seed, talk)


def noises(count: int) -> list[Item]:
    """Places where nobody speaks: NOISE_S seconds each."""
    return [Item(kind="noise", name=f"noise-{n}", clip=Clip(words="", speaker="", path=Path(""))) for n in range(count)]


def seconds_of(item: Item) -> float:
    """Length of the item's own sound."""
    return NOISE_S if item.kind == "noise" else len(_read(item.clip.path)) / RATE_HZ


@lru_cache(maxsize=512)
def _read(path: Path) -> npt.NDArray[np.float64]:
    samples, rate_hz = soundfile.read(path, dtype="float64", always_2d=True)
    mono = samples.mean(axis=1)
    return mono if rate_hz == RATE_HZ else soxr.resample(mono, rate_hz, RATE_HZ)
