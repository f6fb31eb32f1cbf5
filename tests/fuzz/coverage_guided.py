"""Lets atheris bend inputs by what they reach in the code, for one reader or for typed text, and prints totals.

Usage: python tests/fuzz/coverage_guided.py NAME [--seconds 60]; NAME is "typed" or a reader of readers.py. Needs
`pip install atheris`, which is no dependency of the project. Exit status 1 at the first failure, with its bytes.
"""

from __future__ import annotations

import os
import sys
import time
from argparse import ArgumentParser
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[2]))

import atheris

with atheris.instrument_imports(include=["assistant"]):
    from assistant.app import kit_from, setting_for
    from tests.fuzz.readers import misread, readers
    from tests.fuzz.utterances import Fuzzing

SEED_LINES = (b"gauge reads 1500, small cylinder, 15 litres", b"sats ninety four pulse one ten", b"boat in 1h10")


def _typing() -> tuple[Callable[[bytes], str | None], tuple[bytes, ...]]:
    fuzzing = Fuzzing(setting_for(kit_from(None)), seed=1)

    def type_line(content: bytes) -> str | None:
        fuzzing.type("atheris", content.decode("utf-8", errors="replace"))
        wrong = (*fuzzing.found.crashes, *fuzzing.found.inventions)
        return None if not wrong else wrong[-1][2]

    return type_line, SEED_LINES


def _target(name: str) -> tuple[Callable[[bytes], str | None], tuple[bytes, ...]]:
    if name == "typed":
        return _typing()
    reader = next(reader for reader in readers() if reader.name == name)
    return (lambda content: misread(reader, content)), reader.whole


def main() -> None:
    """One target for so many seconds; the totals come from libFuzzer and from the line that is printed last."""
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("name", choices=["typed", *(reader.name for reader in readers())])
    parser.add_argument("--seconds", type=int, default=60, help="of the processor, so that other work does not count")
    args = parser.parse_args()
    check, seeds = _target(args.name)
    ends = time.process_time() + args.seconds
    runs = 0

    def one(content: bytes) -> None:
        nonlocal runs
        runs += 1
        wrong = check(content)
        if wrong or time.process_time() > ends:
            print(f"{args.name}: {runs} inputs, {'1 failure' if wrong else '0 failures'}", flush=True)
            if wrong:
                print(f"    {wrong}\n        {content!r}", flush=True)
            os._exit(1 if wrong else 0)  # libFuzzer never returns

    with TemporaryDirectory() as folder:
        for number, seed in enumerate(seeds):
            (Path(folder) / str(number)).write_bytes(seed)
        atheris.Setup([sys.argv[0], folder, "-max_len=65536", "-verbosity=0"], one)
        atheris.Fuzz()


if __name__ == "__main__":
    main()
