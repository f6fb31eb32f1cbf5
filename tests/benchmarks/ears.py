"""Measures the ears with the full grammar and prints a table: speed, memory, first graph, time until ready to hear.

Each figure comes from a process of its own. The speech is the grammar's example sentences, said by espeak-ng. Decoding
is counted in processor seconds, so that a busy machine does not change it; the other times are wall-clock.

usage: python tests/benchmarks/ears.py [--engine vosk|pocketsphinx] [--sentences N]
"""

from __future__ import annotations

import argparse
import json
import os
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TARGETS = {
    "first graph, grammar loaded (s)": 5.0,
    "ready to hear after process start (s)": 1.0,
    "decoding, share of real time": 0.08,
    "resident memory after hearing (MB)": 200.0,
}


def main() -> None:
    options = _options()
    if options.inside:
        json.dump(_measured(options), sys.stdout)
        return
    with tempfile.TemporaryDirectory() as cache:
        first, then = _run(options, cache), _run(options, cache)
    rows = {
        "first graph, grammar loaded (s)": first["open_s"],
        "the same in processor seconds": first["open_cpu_s"],
        "ready to hear after process start (s)": then["ready_s"],
        "decoding, share of real time": then["share"],
        "resident memory when ready (MB)": then["ready_mb"],
        "resident memory after hearing (MB)": then["heard_mb"],
        "resident memory after hearing, first run (MB)": first["heard_mb"],
    }
    heard = f"{then['sentences']:.0f} sentences, {then['speech_s']:.0f} s of speech"
    print(f"| {options.engine}: {heard} | measured | target |")
    print("| --- | ---: | ---: |")
    for name, value in rows.items():
        print(f"| {name} | {value:.3g} | {TARGETS.get(name, '')} |")


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--engine", default="vosk", choices=["vosk", "pocketsphinx"])
    parser.add_argument("--sentences", type=int, default=100)
    parser.add_argument("--inside", type=float, default=0.0, help=argparse.SUPPRESS)
    return parser.parse_args()


def _run(options: argparse.Namespace, cache: str) -> dict[str, float]:
    """One fresh process with this cache folder; it is told when it was started."""
    paths = os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")])
    surroundings = {**os.environ, "OXYGEN_ASSISTANT_CACHE": cache, "PYTHONPATH": paths, **_model()}
    command = [sys.executable, __file__, "--engine", options.engine, "--sentences", str(options.sentences)]
    done = subprocess.run(
        [*command, "--inside", str(time.time())], env=surroundings, stdout=subprocess.PIPE, text=True, check=True
    )
    figures: dict[str, float] = json.loads(done.stdout)
    return figures


def _model() -> dict[str, str]:
    """The model from the user's own cache, because the runs have a cache of their own."""
    from assistant.hearing.find_model import vosk_model

    return {"OXYGEN_ASSISTANT_MODEL": str(vosk_model())}


def _measured(options: argparse.Namespace) -> dict[str, float]:
    from assistant import shelf
    from assistant.app import grammar_for, kit_from
    from assistant.hearing import open_recogniser

    grammar = grammar_for(kit_from(None))
    loaded_s, loaded_cpu_s = time.time(), _processor_s()
    ears = open_recogniser(options.engine, grammar, pronunciations=shelf.pronunciations())
    figures = {
        "open_s": time.time() - loaded_s,
        "open_cpu_s": _processor_s() - loaded_cpu_s,
        "ready_s": time.time() - options.inside,
        "ready_mb": _resident_mb(),
    }
    sentences = [one.sentence for one in grammar.examples() if not re.search(r"\d", one.sentence)][: options.sentences]
    speech_s = spent_s = 0.0
    for sentence in sentences:
        samples = _said(sentence)
        begun_s = time.process_time()
        ears.hear(samples)
        spent_s += time.process_time() - begun_s
        speech_s += len(samples) / 16_000
    return {
        **figures,
        "sentences": len(sentences),
        "speech_s": speech_s,
        "share": spent_s / speech_s,
        "heard_mb": _resident_mb(),
    }


def _said(sentence: str):  # type: ignore[no-untyped-def]
    import numpy as np
    import soxr

    from assistant.speaking.espeak_mouth import EspeakMouth
    from assistant.speaking.mouth import SilentMouth, VoiceSettings

    samples, rate_hz = EspeakMouth(VoiceSettings(), SilentMouth()).samples(sentence)  # type: ignore[arg-type]
    return soxr.resample(samples.astype(np.float32) / 32_768, rate_hz, 16_000)


def _processor_s() -> float:
    """Of this process and its finished children."""
    spent = os.times()
    return spent.user + spent.system + spent.children_user + spent.children_system


def _resident_mb() -> float:
    """Resident memory of this process, on Linux."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    main()
