"""Bends whole files and lines very many times and prints, for each reader, how often it failed.

Usage: python tests/fuzz/bent_files.py [--count 20000] [--seed 1] [--reader NAME]. Exit status 1 where a reader failed.
"""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from pathlib import Path
from random import Random
from time import process_time

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.fuzz.bending import bent
from tests.fuzz.readers import Reader, misread, readers

SHOWN = 5


def main() -> int:
    """The totals, and the first failures of each reader."""
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--reader")
    args = parser.parse_args()
    failed = [_fuzzed(reader, args.count, args.seed) for reader in readers() if args.reader in (None, reader.name)]
    print(f"{len(failed)} readers, {args.count} bent inputs each: {sum(failed)} failures")
    return 1 if any(failed) else 0


def _fuzzed(reader: Reader, count: int, seed: int) -> int:
    random, failures, longest_s = Random(seed), [], 0.0
    for _ in range(count):
        content = bent(random.choice(reader.whole), random)
        began = process_time()
        wrong = misread(reader, content)
        longest_s = max(longest_s, process_time() - began)
        if wrong:
            failures.append((wrong, content))
    print(f"{reader.name}: {count} bent, {len(failures)} failures, longest {1000 * longest_s:.0f} ms", flush=True)
    for wrong, content in failures[:SHOWN]:
        print(f"    {wrong[:300]}\n        {content[:300]!r}")
    return len(failures)


if __name__ == "__main__":
    sys.exit(main())
