"""Writes grammars/en/said.txt: sentences as people say them, for the grammar to learn from what is likely.

usage: python tests/benchmarks/speech/said.py

They are those of phrasings_learning.toml, with numbers drawn for their slots. None of them is tuned with or scored.
"""

from __future__ import annotations

import random
from collections.abc import Iterator

import places
from corpora import filled, phrasings, seed_of

DRAWS = 2
# Said alone, and more often than anything else: our judgement, no source.
OFTEN = {
    "yes": 30,
    "no": 20,
    "done": 24,
    "next": 24,
    "back": 8,
    "repeat": 8,
    "say again": 8,
    "stop": 6,
    "correction": 6,
    "undo": 6,
    "hissing": 12,
    "it is hissing": 6,
    "no flow": 6,
    "the valve is stuck": 6,
    "the bag collapses": 6,
    "no washer": 6,
    "the regulator is loose": 6,
    "alarm heard": 6,
    "where was i": 6,
}
HEAD = """# Sentences as people say them to the assistant: the recogniser's graph learns from them what is likely.
# Written by tests/benchmarks/speech/said.py from phrasings_learning.toml, and at the end what is said most often;
# which number is said is not learned.
"""


def sentences() -> Iterator[str]:
    """Each phrasing, with numbers in it as often as DRAWS; then what is said alone, as often as OFTEN has it."""
    for place, phrasing in enumerate(phrasings("learning")):
        for turn in range(DRAWS if "{" in phrasing["say"] else 1):
            yield filled(phrasing["say"], random.Random(seed_of("said", place, turn)))[0]
    for words, times in OFTEN.items():
        yield from [words] * times


if __name__ == "__main__":
    file = places.REPOSITORY / "grammars" / "en" / "said.txt"
    file.write_text(HEAD + "".join(f"{sentence}\n" for sentence in sentences()), encoding="utf-8")
