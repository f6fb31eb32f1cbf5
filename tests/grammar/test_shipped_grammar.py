"""The shipped grammar, as data: every example matches its rule, no near miss does, and what it generates it matches."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.grammar import load_grammar

FOLDER = Path(__file__).parents[2] / "grammars" / "en"
SLOTS = {"cylinder_name": ["small", "delta", "large", "big", "echo"], "size_letter": ["d", "e"]}
GRAMMAR = load_grammar({file.name: file.read_text(encoding="utf-8") for file in FOLDER.glob("*.jsgf")}, SLOTS)


def place(example):
    return f"{example.file}:{example.line} {example.sentence}"


def uses(tree, rule):
    return tree.rule == rule or any(uses(node, rule) for node in tree.nodes())


@pytest.mark.parametrize("example", GRAMMAR.examples(), ids=place)
def test_every_example_matches_its_rule_or_is_an_utterance_that_uses_it(example):
    words = example.sentence.split()
    trees = GRAMMAR.parse(words, rule=example.rule) or GRAMMAR.parse(words)
    assert any(uses(tree, example.rule) for tree in trees)


@pytest.mark.parametrize("example", GRAMMAR.nonexamples(), ids=place)
def test_no_near_miss_matches_its_rule(example):
    assert not GRAMMAR.matches(example.sentence.split(), rule=example.rule)


def test_every_sentence_that_it_generates_matches():
    sentences = GRAMMAR.sentences(1, 1000)
    assert len(sentences) == 1000
    assert [sentence for sentence in sentences if not GRAMMAR.matches(sentence.split())] == []


def test_ten_minutes_of_gibberish_words_match_nothing():
    words = [*GRAMMAR.words(), "[unk]"]
    gibberish = [words[(n * 7919) % len(words)] for n in range(1500)]
    assert GRAMMAR.parse(gibberish) == ()
