"""What the benchmark plays: commands, talk that is not for the assistant, bare answers of people, and noise alone.

Takes the data files beside it and `../shared/human_speech`; gives clips with what they mean. A tuning set and a scoring
set share no wording, no voice and no human speaker.
"""

from __future__ import annotations

import hashlib
import json
import random
import re
import sys
import zlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from places import CACHE, HUMAN_SPEECH, POCKETSPHINX_DATA
from spoken_numbers import Spoken, draw
from voices import VOICES, Line, said_as

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

HERE = Path(__file__).resolve().parent
SETS = ("tuning", "scoring")
SET_VOICES: Mapping[str, tuple[str, ...]] = {
    "tuning": ("espeak-us-m3", "flite-rms", "espeak-gb-m1", "flite-kal16", "espeak-us-f2"),
    "scoring": ("piper-joe", "flite-slt", "festival-ked", "flite-awb", "festival-slt-hts", "espeak-gb-f4"),
}
PACES = (0.9, 1.0, 1.0, 1.1, 1.2)
PITCHES = (0.85, 1.0, 1.15)
FEET_IN_METRES = 0.3048
HIGHEST_GAUGE_PSI = 3000  # no cylinder of the default kit is filled higher (49 CFR 178.46 high-pressure aluminium)
BABBLERS = 4

Meanings = tuple[dict[str, Any], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Clip:
    """One stretch of speech: `path` holds it, `line` makes it where it is synthetic; `speaker` a voice or a person."""

    words: str
    speaker: str
    path: Path
    line: Line | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A clip with what it should come to.

    `kind`: command, number or word (bare answers), talk, noise. `means`: the expected meanings, contract JSON without
    what is not said. `spoken`: the words of each number in it, by value. `allowed`: values that a bare number may be
    taken for. `name` tells items apart and seeds whatever is drawn for them.
    """

    kind: str
    name: str
    clip: Clip
    means: Meanings = ()
    spoken: Mapping[float, str] = field(default_factory=dict)
    allowed: frozenset[float] = frozenset()

    @property
    def human(self) -> bool:
        return self.clip.line is None


def seed_of(*parts: object) -> int:
    """The same seed for the same parts, on any machine."""
    return zlib.crc32("|".join(map(str, parts)).encode())


def _toml(name: str) -> dict[str, Any]:
    return tomllib.loads((HERE / name).read_text(encoding="utf-8"))


def spoken_clip(words: str, voice: str, name: str) -> Clip:
    """The clip of a voice saying the words, at a pace and pitch drawn from `name`."""
    rng = random.Random(seed_of("pace", name, voice))
    pace, pitch = rng.choice(PACES), rng.choice(PITCHES)
    recipe = "|".join([said_as(words), VOICES[voice].engine, VOICES[voice].model, f"{pace} {pitch}"])
    path = CACHE / "spoken" / f"{hashlib.sha256(recipe.encode()).hexdigest()[:24]}.wav"
    return Clip(
        words=words, speaker=voice, path=path, line=Line(words=words, voice=voice, path=path, pace=pace, pitch=pitch)
    )


def phrasings(which: str) -> list[dict[str, Any]]:
    """The templates of a set, or of `learning`, from which the grammar learns what is likely."""
    found: list[dict[str, Any]] = _toml(f"phrasings_{which}.toml")["phrasing"]
    return found


def filled(say: str, rng: random.Random) -> tuple[str, dict[str, Spoken]]:
    """The sentence with a number drawn for each slot."""
    slots = {slot: draw(slot, rng) for slot in dict.fromkeys(re.findall(r"\{(\w+)\}", say))}
    return re.sub(r"\{(\w+)\}", lambda found: slots[found.group(1)].words, say), slots


def _value(template: str, slots: Mapping[str, Spoken]) -> float:
    if template == "{feet_in_metres}":
        return slots["feet"].value * FEET_IN_METRES
    if template == "{minus_cold}":
        return -slots["cold"].value
    return slots[template.strip("{}")].value


def meaning_of(template: Any, slots: Mapping[str, Spoken], key: str = "") -> Any:
    """The meaning with the drawn values in place of its slots; a cylinder's name stays text."""
    if isinstance(template, dict):
        return {name: meaning_of(part, slots, name) for name, part in template.items()}
    if isinstance(template, str) and template.startswith("{"):
        value = _value(template, slots)
        return f"{value:g}" if key == "cylinder" else value
    return template


def commands(which: str, each: int, voices: Sequence[str] = ()) -> Iterator[Item]:
    """Each phrasing in `each` voices of the set (or of `voices`), with other numbers in each."""
    chosen = tuple(voices) or SET_VOICES[which]
    for place, phrasing in enumerate(phrasings(which)):
        for turn in range(each):
            voice = chosen[(place + turn) % len(chosen)]
            name = f"{which}-{place}-{voice}-{turn // len(chosen)}"
            words, slots = filled(phrasing["say"], random.Random(seed_of(name)))
            means = tuple(meaning_of(meaning, slots) for meaning in phrasing["means"])
            spoken = {drawn.value: drawn.words for drawn in slots.values()}
            yield Item(kind="command", name=name, clip=spoken_clip(words, voice, name), means=means, spoken=spoken)


def talk(which: str, draws: int, voices: Sequence[str] = ()) -> Iterator[Item]:
    """Synthetic conversation about other things: each sentence in every voice of the set, `draws` times."""
    for place, sentence in enumerate(_toml(f"talk_{which}.toml")["talk"]):
        for voice in tuple(voices) or SET_VOICES[which]:
            for turn in range(draws):
                name = f"talk-{which}-{place}-{voice}-{turn}"
                words, slots = filled(sentence, random.Random(seed_of(name)))
                if slots or turn == 0:
                    yield Item(kind="talk", name=name, clip=spoken_clip(words, voice, name))


def human(which: str) -> Iterator[Item]:
    """Recordings of people, those of the set's half of the speakers: talk, and bare answers; none where absent."""
    manifest = HUMAN_SPEECH / "manifest.jsonl"
    if not manifest.exists():
        return
    rows = [json.loads(line) for line in manifest.read_text(encoding="utf-8").splitlines()]
    half = sorted({row["speaker"] for row in rows})[SETS.index(which) :: 2]
    for row in rows:
        if row["speaker"] in half:
            clip = Clip(words=row["words"], speaker=row["speaker"], path=HUMAN_SPEECH / row["file"])
            kind = {"numbers": "number"}.get(row["kind"], row["kind"])
            allowed = gauge_values(row["words"]) if kind == "number" else frozenset[float]()
            yield Item(kind=kind, name=f"human-{row['file']}", clip=clip, allowed=allowed)


def read_aloud(which: str) -> Iterator[Item]:
    """Debian's recordings of novels and games read aloud, half for each set; none where they are absent."""
    files = sorted([*POCKETSPHINX_DATA.glob("librivox/*.wav"), *POCKETSPHINX_DATA.glob("cards/*.wav")])
    for path in files[SETS.index(which) :: 2]:
        yield Item(kind="talk", name=f"read-{path.stem}", clip=Clip(words="", speaker="reader", path=path))


def babblers(which: str, item: Item) -> list[Clip]:
    """What others are saying while the item's speaker speaks: talk of the set, in other voices than the speaker's."""
    rng = random.Random(seed_of("babble", item.name))
    others = [voice for voice in SET_VOICES[which] if voice != item.clip.speaker]
    sentences = _toml(f"talk_{which}.toml")["talk"]
    clips = []
    for voice in rng.sample(others, BABBLERS):
        place = rng.randrange(len(sentences))
        name = f"talk-{which}-{place}-{voice}-0"
        words, _ = filled(sentences[place], random.Random(seed_of(name)))
        clips.append(spoken_clip(words, voice, name))
    return clips


_FIGURE = {
    word: str(figure)
    for figure, word in enumerate(["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"])
}
_FIGURE["oh"] = "0"
_TEEN = ["ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
_TEN = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]


def gauge_values(words: str) -> frozenset[float]:
    """Which gauge readings (psi) the number words may be taken for; empty where they are none, so that nothing may.

    Figures and pairs are joined ("six thirty" 630, "fourteen fourteen" 1414). What begins with zero, or comes to more
    than HIGHEST_GAUGE_PSI, is no gauge reading.
    """
    parts = words.split()
    if parts[-1] in ("hundred", "thousand") and len(parts) == 2:
        return frozenset({float(_FIGURE[parts[0]]) * (100 if parts[1] == "hundred" else 1000)})
    figures = ""
    for place, part in enumerate(parts):
        if part in _TEN:
            follows = parts[place + 1] if place + 1 < len(parts) else ""
            figures += str(_TEN.index(part) + 2) + ("" if follows in _FIGURE and follows not in ("zero", "oh") else "0")
        else:
            figures += _FIGURE[part] if part in _FIGURE else str(_TEEN.index(part) + 10)
    value = float(figures)
    return frozenset({value}) if not figures.startswith("0") and value <= HIGHEST_GAUGE_PSI else frozenset()
