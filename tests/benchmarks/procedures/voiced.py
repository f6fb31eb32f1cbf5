"""Conversations played from recordings: words to a recording, a recording to an utterance, a session to hear it.

A "take" picks among the voices a sentence was recorded in: take 0 the first, take 1 the next, around and around.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from assistant import shelf
from assistant.app import Screen, Session, SetClock, setting_for
from assistant.dialogue.turn import Setting, Turn
from assistant.hearing import Recogniser, open_recogniser, read_wav
from assistant.oxygen.kit import default_kit
from assistant.utterance import Utterance

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

ROOT = Path(__file__).resolve().parents[3]
SAMPLES = ROOT / "audio_samples"
CONVERSATIONS = ROOT / "tests" / "conversations" / "procedures" / "voiced.toml"


def conversations() -> list[dict[str, Any]]:
    """The scripted conversations: name, lines of (at_s, words), and the sentence they end with."""
    return list(tomllib.loads(CONVERSATIONS.read_text(encoding="utf-8"))["conversation"])


@lru_cache(maxsize=1)
def recordings() -> dict[str, tuple[str, ...]]:
    """The files of each sentence that was recorded, in the order of the manifest."""
    files: dict[str, list[str]] = {}
    for line in (SAMPLES / "manifest.jsonl").read_text(encoding="utf-8").splitlines():
        row = json.loads(line)
        files.setdefault(row["words"], []).append(row["file"])
    return {words: tuple(found) for words, found in files.items()}


def recording(words: str, take: int) -> Path:
    """The recording of `words` for a take."""
    found = recordings()[words]
    return SAMPLES / found[take % len(found)]


@lru_cache(maxsize=1)
def setting() -> Setting:
    """Default kit, shipped grammar and procedures."""
    return setting_for(default_kit())


@dataclass
class Ears:
    """A recogniser that hears each file once, however often it is played."""

    recogniser: Recogniser
    heard: dict[Path, Utterance] = field(default_factory=dict)

    @staticmethod
    def opened(engine: str = "vosk", model: Path | None = None) -> Ears:
        return Ears(open_recogniser(engine, setting().grammar, model=model, pronunciations=shelf.pronunciations()))

    def hear(self, path: Path) -> Utterance:
        if path not in self.heard:
            self.heard[path] = self.recogniser.hear(read_wav(path))
        return self.heard[path]


def played(lines: Sequence[tuple[float, str]], take: int, ears: Ears, screen: Screen) -> Session:
    """A session that has heard every line at its time, by voice."""
    clock = SetClock()
    session = Session(setting(), clock, screen)
    for at_s, words in lines:
        clock.set(at_s)
        session.hear(ears.hear(recording(words, take)))
    return session


@dataclass
class Kept:
    """A screen that keeps what came out."""

    turns: list[Turn] = field(default_factory=list)
    said: list[str] = field(default_factory=list)

    def show_turn(self, turn: Turn, state: object) -> None:
        self.turns.append(turn)
        self.said.append(turn.reply)

    def show_alert(self, alert: Any, state: object) -> None:
        self.said.append(alert.say)

    def show_prompt(self, at_s: float, say: str, state: object) -> None:
        self.said.append(say)
