"""How many of the recorded samples' meanings are understood exactly, with vosk and with pocketsphinx beside it.

usage: python tests/benchmarks/samples.py [--engines vosk,pocketsphinx] [--show] [--json]

Each file of audio_samples/manifest.jsonl is one utterance, heard by the assistant's own ears and taken by its own turn,
some minutes into an incident (there has to be something to correct). A question in place of the values counts as wrong.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent / "speech"))

from corpora import Clip, Item
from incidents import default_setting, running
from places import REPOSITORY
from scoring import Share, leftovers, settled, verdict

from assistant import shelf
from assistant.dialogue.turn import Setting, take_turn
from assistant.hearing.recogniser import Recogniser, open_recogniser
from assistant.hearing.wav import read_wav
from assistant.meaning.contract import to_json

SAMPLES = REPOSITORY / "audio_samples"


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """One sample through one engine; `found` of its `meanings` were understood, `exact` if all and nothing else."""

    file: str
    heard: str
    outcome: str
    meanings: int
    found: int
    exact: bool


def manifest() -> list[dict[str, Any]]:
    """The manifest's rows."""
    return [json.loads(line) for line in (SAMPLES / "manifest.jsonl").read_text(encoding="utf-8").splitlines()]


def heard(row: dict[str, Any], ears: Recogniser, setting: Setting) -> Heard:
    """What came of one sample."""
    clip = Clip(words=row["words"], speaker=row["voice"], path=SAMPLES / row["file"])
    item = Item(kind="command", name=row["file"], clip=clip, means=tuple(row["meanings"]))
    before = running(item, setting)
    utterance = ears.hear(read_wav(clip.path))
    turn = take_turn(before.incident, utterance, before.at_s, setting)
    understood = [to_json(meaning) for meaning in turn.understood]
    exact = verdict(item.means, turn.outcome, understood) == "right"
    absent, _ = leftovers(item.means, settled(understood)) if exact or turn.outcome == "taken" else (item.means, ())
    return Heard(
        file=row["file"],
        heard=utterance.best.text,
        outcome=turn.outcome,
        meanings=len(item.means),
        found=len(item.means) - len(absent),
        exact=exact,
    )


def main(arguments: Sequence[str]) -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--engines", default="vosk,pocketsphinx", help="by comma (default: both)")
    parser.add_argument("--model", type=Path, help="a vosk model folder")
    parser.add_argument("--show", action="store_true", help="list the samples that were not understood exactly")
    parser.add_argument("--json", action="store_true", help="JSON lines in place of the table")
    options = parser.parse_args(arguments)
    setting = default_setting()
    if not options.json:
        print("| engine | samples exactly right, percent | meanings right, percent |\n| --- | --- | --- |")
    for engine in options.engines.split(","):
        ears = open_recogniser(engine, setting.grammar, model=options.model, pronunciations=shelf.pronunciations())
        results = [heard(row, ears, setting) for row in manifest()]
        files = Share(sum(result.exact for result in results), len(results))
        meanings = Share(sum(result.found for result in results), sum(result.meanings for result in results))
        if options.json:
            row = {"engine": engine, "samples": files.percent, "meanings": meanings.percent, "n": files.whole}
            print(json.dumps(row))
        else:
            print(f"| {engine} | {files} of {files.whole} | {meanings} of {meanings.whole} |")
        for result in (result for result in results if options.show and not result.exact):
            print(f"  {result.file}: heard {result.heard!r}, {result.outcome}", file=sys.stderr)


if __name__ == "__main__":
    main(sys.argv[1:])
