"""Prints the transcripts of a whole set-up, a change under way and a leak, each heard from recordings.

usage: python tests/benchmarks/procedures/transcripts.py [--take N] [--engine vosk|pocketsphinx]

A take picks the voices: every sentence is heard in its N-th one.
"""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parent), str(Path(__file__).resolve().parents[3])]

from rich.console import Console
from voiced import Ears, conversations, played, recording

from assistant.screens.transcript import Transcript


def main() -> int:
    """Print the three; status 1 where one does not end as it should."""
    parser = ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--take", type=int, default=0)
    parser.add_argument("--engine", choices=["vosk", "pocketsphinx"], default="vosk")
    args = parser.parse_args()
    console, ears, status = Console(highlight=False), Ears.opened(args.engine), 0
    for conversation in conversations():
        lines = [(float(at_s), words) for at_s, words in conversation["lines"]]
        voices = {recording(words, args.take).stem.split(".", 1)[1] for _, words in lines}
        console.print(f"\n== {conversation['name']}: {len(lines)} recordings, {len(voices)} voices ==", markup=False)
        session = played(lines, args.take, ears, Transcript(console, supply_line=False))
        if conversation["ends"] not in session.state.last_reply:
            console.print(f'NOT FINISHED: it should end with "{conversation["ends"]}"', markup=False)
            status = 1
    return status


if __name__ == "__main__":
    sys.exit(main())
