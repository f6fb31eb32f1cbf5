"""Prints what the grammar engine takes: loading, matching the whole utterance, the recogniser's acceptor.

Usage: python tests/benchmarks/grammar_speed.py; times are processor time, so that other work does not count.
"""

from __future__ import annotations

import gc
import random
from collections.abc import Callable, Sequence
from itertools import chain
from pathlib import Path
from time import process_time

from assistant.cli import NEW_OBJECTS_BEFORE_COLLECTING
from assistant.grammar import Grammar, load_grammar

FOLDER = Path(__file__).parents[2] / "grammars" / "en"
SLOTS = {"cylinder_name": ["small", "delta", "large", "big", "echo"], "size_letter": ["d", "e"]}
LONGEST_WORDS = 30


def main() -> None:
    gc.set_threshold(NEW_OBJECTS_BEFORE_COLLECTING)
    grammar = _loading()
    gc.freeze()  # as where the program goes on listening: what is loaded is not looked through again
    _matching(grammar)
    _graph(grammar)


def _loading() -> Grammar:
    texts = {file.name: file.read_text(encoding="utf-8") for file in FOLDER.glob("*.jsgf")}
    start = process_time()
    grammar = load_grammar(texts, SLOTS)
    loaded = process_time()
    grammar.parse(["bottle", "reads", "fifteen", "hundred", "small", "cylinder", "fifteen", "litres"])
    parsed = process_time()
    print(f"{len(grammar.words())} words; load {1000 * (loaded - start):.0f} ms, first utterance", end=" ")
    print(f"{1000 * (parsed - loaded):.1f} ms")
    return grammar


def _matching(grammar: Grammar) -> None:
    """Utterances never matched before, so that nothing is remembered of them as a whole."""
    chosen = random.Random(1)
    said = [sentence.split() for sentence in grammar.sentences(1, 3000)]
    words = [*grammar.words(typed=True), "[unk]", "1500"]
    _report("random sentences", said, grammar.parse)
    examples = [one.sentence.split() for one in grammar.examples() if grammar.matches(one.sentence.split())]
    joined = [[*chain(*chosen.sample(examples, 6))][:LONGEST_WORDS] for _ in range(3000)]
    _report(f"examples joined, up to {LONGEST_WORDS} words", joined, grammar.parse)
    _report("60 random words", [chosen.choices(words, k=60) for _ in range(3000)], grammar.parse)
    numbers = [word for word in words if grammar.matches([word], rule="number_word")]
    _report("60 number words", [chosen.choices(numbers, k=60) for _ in range(3000)], grammar.parse)
    _report("60 words of a note", [["note", *chosen.choices(words, k=60)] for _ in range(3000)], grammar.parse)


def _report(name: str, utterances: Sequence[Sequence[str]], parse: Callable[[Sequence[str]], object]) -> None:
    times = []
    for words in utterances:
        start = process_time()
        parse(words)
        times.append(1000 * (process_time() - start))
    times.sort()
    middle, high = times[len(times) // 2], times[len(times) * 99 // 100]
    print(f"{name}: median {middle:.3f}, 99th percentile {high:.2f}, most {times[-1]:.1f} ms")


def _graph(grammar: Grammar) -> None:
    start = process_time()
    acceptor = grammar.acceptor()
    took = process_time() - start
    print(f"acceptor: {acceptor.state_count} states, {len(acceptor.arcs)} arcs, {took:.1f} s")


if __name__ == "__main__":
    main()
