"""Makes the recorded samples and the demonstration again, from utterances.toml, own_words.toml and demo_script.toml.

usage: python audio_samples/make_samples.py [FOLDER]

Writes WAV files (16 kHz mono 16-bit), manifest.jsonl, own_words/ and demo/demo.jsonl into FOLDER (here, where none is
given).
Needs espeak-ng, flite, festival and the voices that voices.py names. Refuses a demo whose readings its flow belies.
"""

from __future__ import annotations

import json
import re
import sys
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import soundfile
from voices import RATE_HZ, VOICES, Line, speak_all

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

HERE = Path(__file__).resolve().parent
LIMIT_BYTES = 15_000_000
DEMO_LIMIT_BYTES = 1_500_000
FACTOR_L_PER_PSI = {"D": 0.16, "E": 0.28}  # the contract's handbook factors
# Voices that may be passed on with the project without a question; piper-joe's origin leaves one, so it stays out.
SAMPLE_VOICES = tuple(name for name in VOICES if name != "piper-joe")
PAD_S = 0.3
ACTIVE_DBFS = -23.0


@dataclass(frozen=True, slots=True)
class Sample:
    """One recording to make: its file's name, the words, the meanings and the voice."""

    file: str
    words: str
    meanings: tuple[Mapping[str, Any], ...]
    voice: str


def read_toml(path: Path) -> dict[str, Any]:
    """The TOML file's content."""
    return tomllib.loads(path.read_text(encoding="utf-8"))


def slug(words: str) -> str:
    """The words as part of a file name."""
    return re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-")


def samples() -> Iterator[Sample]:
    """Every sample: the voices take turns, so that each kind is heard in several."""
    turn = 0
    for entry in read_toml(HERE / "utterances.toml")["utterance"]:
        for _ in range(entry.get("voices", 1)):
            voice = SAMPLE_VOICES[turn % len(SAMPLE_VOICES)]
            turn += 1
            yield Sample(f"{slug(entry['words'])}.{voice}.wav", entry["words"], tuple(entry["means"]), voice)


def padded(samples_in: np.ndarray, name: str) -> np.ndarray:
    """Speech brought to one level, between short stretches of a quiet room (seeded by the file's name)."""
    level = np.sqrt(np.mean(np.square(samples_in[np.abs(samples_in) > 0.01]))) or 1.0
    speech = np.clip(samples_in * (10 ** (ACTIVE_DBFS / 20) / level), -0.99, 0.99)
    pad = np.zeros(round(PAD_S * RATE_HZ))
    room = np.random.default_rng(zlib.crc32(name.encode())).normal(0.0, 10 ** (-72 / 20), len(speech) + 2 * len(pad))
    return np.concatenate([pad, speech, pad]) + room


def record(folder: Path, wanted: Mapping[str, tuple[str, str]]) -> None:
    """Writes one WAV file for each name in `wanted` (name to words and voice), in place of all that were there."""
    folder.mkdir(parents=True, exist_ok=True)
    for stale in folder.glob("*.wav"):
        stale.unlink()
    speak_all(Line(words=words, voice=voice, path=folder / name) for name, (words, voice) in wanted.items())
    for name in wanted:
        raw, _ = soundfile.read(folder / name)
        soundfile.write(folder / name, padded(raw, name), RATE_HZ, subtype="PCM_16")


def write_manifest(folder: Path, made: list[Sample]) -> None:
    """One JSON line for each sample: file, words, meanings, voice, engine, licence."""
    with (folder / "manifest.jsonl").open("w", encoding="utf-8") as out:
        for sample in made:
            voice = VOICES[sample.voice]
            row = {
                "file": sample.file,
                "words": sample.words,
                "meanings": list(sample.meanings),
                "voice": voice.name,
                "engine": voice.engine,
                "licence": voice.licence,
            }
            out.write(json.dumps(row, ensure_ascii=False) + "\n")


def implausible_readings(script: Mapping[str, Any]) -> list[str]:
    """What in the demo's script its own flow belies: one line for each gauge reading off by more than the tolerance."""
    faults: list[str] = []
    in_use, size, expected_psi, flow_l_min, before_s = "", "", 0.0, 0.0, 0.0
    for line in script["line"]:
        if in_use:
            expected_psi -= flow_l_min * (line["at_s"] - before_s) / 60 / FACTOR_L_PER_PSI[size]
        before_s, flow_l_min = line["at_s"], line.get("flow_l_min", flow_l_min)
        gauge = line.get("gauge")
        if gauge and gauge["cylinder"] != in_use:
            in_use, size, expected_psi = gauge["cylinder"], gauge["size"], float(gauge["psi"])
        elif gauge and abs(expected_psi - gauge["psi"]) > script["psi_tolerance"]:
            faults.append(f"at {line['at_s']} s: {gauge['psi']} psi said, {expected_psi:.0f} expected")
    return faults


def write_demo(folder: Path) -> None:
    """The demo's recordings and demo.jsonl, in the contract's `replay` form; file names are relative to it."""
    script = read_toml(HERE / "demo_script.toml")
    if faults := implausible_readings(script):
        raise SystemExit("\n".join(["demo_script.toml cannot be:", *faults]))
    named = [(f"{number:02d}-{slug(line['words'])}.wav", line) for number, line in enumerate(script["line"], start=1)]
    record(folder, {name: (line["words"], script["voice"]) for name, line in named})
    with (folder / "demo.jsonl").open("w", encoding="utf-8") as out:
        for name, line in named:
            out.write(json.dumps({"at_s": line["at_s"], "wav": name}) + "\n")


def write_own_words(folder: Path) -> None:
    """The recordings of own_words.toml, and own_words.jsonl: file, words, voice, licence and what is asked of each."""
    named = {f"{slug(one['words'])}.wav": one for one in read_toml(HERE / "own_words.toml")["sentence"]}
    record(folder, {name: (one["words"], one["voice"]) for name, one in named.items()})
    with (folder / "own_words.jsonl").open("w", encoding="utf-8") as out:
        for name, one in named.items():
            row = {"file": name, **one, "licence": VOICES[one["voice"]].licence}
            out.write(json.dumps(row, ensure_ascii=False) + "\n")


def check_sizes(folder: Path) -> None:
    """Refuses to end with more than what travels well."""
    demo = sum(path.stat().st_size for path in (folder / "demo").glob("*"))
    others = [*folder.glob("*.wav"), *(folder / "own_words").glob("*")]
    all_bytes = demo + sum(path.stat().st_size for path in others)
    if all_bytes > LIMIT_BYTES or demo > DEMO_LIMIT_BYTES:
        raise SystemExit(f"too large: {all_bytes} bytes in all, {demo} in demo/")
    print(f"{all_bytes / 1e6:.1f} MB, of which demo {demo / 1e6:.2f} MB")


def main(arguments: list[str]) -> None:
    folder = Path(arguments[0]) if arguments else HERE
    made = list(samples())
    record(folder, {sample.file: (sample.words, sample.voice) for sample in made})
    write_manifest(folder, made)
    write_own_words(folder / "own_words")
    write_demo(folder / "demo")
    print(f"{len(made)} samples, {len({sample.words for sample in made})} sentences, {len(SAMPLE_VOICES)} voices")
    check_sizes(folder)


if __name__ == "__main__":
    main(sys.argv[1:])
