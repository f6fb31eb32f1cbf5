"""What it costs to start and to install, beside bare programs on the libraries one could take instead. Prints tables.

usage: python tests/benchmarks/costs.py [--whisper NAME=FOLDER ...]

Starting is processor seconds of a process from its start to its end, the middle of five. An installed size is that of
the package and of all that it requires, as they lie on the disk here, and of its model.
"""

from __future__ import annotations

import argparse
import importlib.metadata
import os
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from packaging.requirements import Requirement

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from assistant.hearing.find_model import vosk_model

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

TRIES = 5
ASK = ["-m", "assistant", "ask", "bottle reads 1500, small cylinder, 15 litres"]
VOSK = "import vosk; vosk.SetLogLevel(-2); vosk.KaldiRecognizer(vosk.Model({model!r}), 16000)"
POCKETSPHINX = "import pocketsphinx; pocketsphinx.Decoder(loglevel='FATAL')"
WHISPER = "import faster_whisper; faster_whisper.WhisperModel({model!r}, device='cpu', compute_type='int8')"


def started_s(arguments: Sequence[str]) -> float:
    """Processor seconds of a Python process with these arguments."""
    taken = []
    for _ in range(TRIES):
        before = os.times()
        subprocess.run([sys.executable, *arguments], cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
        after = os.times()
        taken.append(after.children_user + after.children_system - before.children_user - before.children_system)
    return sorted(taken)[TRIES // 2]


def required(names: Sequence[str], known: set[str] | None = None) -> set[str]:
    """The installed distributions that these need, themselves included."""
    known = set() if known is None else known
    for name in names:
        requirement = Requirement(name)
        if requirement.name.lower() in known or (requirement.marker and not requirement.marker.evaluate({"extra": ""})):
            continue
        known.add(requirement.name.lower())
        required(importlib.metadata.requires(requirement.name) or [], known)
    return known


def installed_mb(names: Sequence[str]) -> float:
    """Megabytes on the disk of the distributions and all they need."""
    sizes = (_size(name) for name in required(names))
    return sum(sizes) / 1e6


def _size(name: str) -> int:
    files = (Path(str(file.locate())) for file in importlib.metadata.files(name) or [])
    return sum(file.stat().st_size for file in files if file.exists() and file.suffix != ".pyc")


def folder_mb(folder: Path) -> float:
    return sum(file.stat().st_size for file in folder.rglob("*") if file.is_file()) / 1e6


def rows(whispers: dict[str, Path]) -> Iterator[tuple[str, float, float, float]]:
    """Name, processor seconds to start, megabytes installed, megabytes of the model."""
    own = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    model = vosk_model(None)
    shipped_mb = folder_mb(ROOT / "assistant") + folder_mb(ROOT / "grammars")
    yield (
        "**the assistant**, asked one thing in writing",
        started_s(ASK),
        installed_mb(own) + shipped_mb,
        folder_mb(model),
    )
    yield (
        "vosk, ready to hear",
        started_s(["-c", VOSK.format(model=str(model))]),
        installed_mb(["vosk"]),
        folder_mb(model),
    )
    yield (
        "pocketsphinx, ready to hear (model inside)",
        started_s(["-c", POCKETSPHINX]),
        installed_mb(["pocketsphinx"]),
        0.0,
    )
    for name, folder in whispers.items():
        code = WHISPER.format(model=str(folder))
        yield f"{name}, ready to hear", started_s(["-c", code]), installed_mb(["faster-whisper"]), folder_mb(folder)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--whisper", action="append", default=[], metavar="NAME=FOLDER")
    options = parser.parse_args()
    whispers = {name: Path(folder) for name, folder in (pair.split("=", 1) for pair in options.whisper)}
    found = list(rows(whispers))
    print("| program | to start, s of processor | of ours | installed, MB | model, MB | together | of ours |")
    print("| --- |" + " ---: |" * 6)
    own = found[0]
    for name, start_s, size_mb, model_mb in found:
        both, own_both = size_mb + model_mb, own[2] + own[3]
        cells = (f"{start_s:.2f}", f"× {start_s / own[1]:.2f}", f"{size_mb:.0f}", f"{model_mb:.0f}", f"{both:.0f}")
        print(f"| {name} | {' | '.join(cells)} | × {both / own_both:.2f} |")


if __name__ == "__main__":
    main()
