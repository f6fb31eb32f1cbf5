"""The shipped grammar itself: its examples, near misses, builders, size, and the recogniser's vocabulary."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from assistant import shelf
from assistant.grammar import Grammar, load_grammar, read_sounds
from assistant.grammar.acceptor import Acceptor
from assistant.meaning import understand as understanding
from assistant.meaning.conversation import MOVES, PROCEDURES, QUESTIONS
from assistant.meaning.equipment import PROBLEMS
from assistant.meaning.kinds import DEVICES, CylinderSize, FlowRate
from assistant.meaning.names import sizes_by_name, slots
from assistant.meaning.registry import built_rules, meanings_of
from assistant.meaning.typed import typed
from assistant.oxygen.kit import Kit
from assistant.quantity import Measure

OWN_WORDS = """
country = "UK"
[[cylinder]]
called = ["Backpack one"]
size = "C"
[[cylinder]]
called = ["short"]
size = "CD"
[[cylinder]]
called = ["ranger"]
size = "M15"
factor = "0.19 L/psi"
[[cylinder]]
called = ["trailer"]
size = "2 L"
water_capacity = "2 L"
service_pressure = "200 bar"
"""


def test_every_example_matches_its_rule_and_means_something(grammar: Grammar, kit: Kit) -> None:
    assert grammar.examples()
    for example in grammar.examples():
        assert grammar.matches(example.sentence.split(), rule=example.rule), example
        assert understanding.understand(typed(example.sentence, grammar), grammar, kit), example


def test_no_near_miss_matches_its_rule(grammar: Grammar) -> None:
    assert grammar.nonexamples()
    for example in grammar.nonexamples():
        assert not grammar.matches(example.sentence.split(), rule=example.rule), example


def test_every_documented_rule_has_examples_and_near_misses(grammar: Grammar) -> None:
    with_example = {example.rule for example in grammar.examples()}
    with_near_miss = {example.rule for example in grammar.nonexamples()}
    for entry in grammar.help():
        assert entry.rule in with_example & with_near_miss, entry


def test_every_random_sentence_means_something(grammar: Grammar, kit: Kit) -> None:
    sentences = [sentence for sentence in grammar.sentences(7, 400) if "[unk]" not in sentence]
    assert len(sentences) > 300
    assert [one for one in sentences if not [*meanings_of(grammar.parse(one.split(), limit=1)[0], kit)]] == []


def test_every_builder_belongs_to_a_rule(grammar_texts: dict[str, str]) -> None:
    text = "\n".join(grammar_texts.values())
    assert [rule for rule in built_rules() if f"<{rule}> " not in text] == []


@pytest.mark.parametrize("tag", [*DEVICES, *PROBLEMS, *QUESTIONS, *MOVES, *PROCEDURES])
def test_every_value_of_a_kind_can_be_said(tag: str, grammar_texts: dict[str, str]) -> None:
    assert f"{{{tag}}}" in "\n".join(grammar_texts.values())


def test_the_recognisers_graph_stays_small(ears: Acceptor) -> None:
    assert ears.state_count < 10_000


def test_names_come_from_the_kit(kit: Kit) -> None:
    assert sizes_by_name(kit) == {"small": "D", "delta": "D", "large": "E", "big": "E", "echo": "E", "d": "D", "e": "E"}
    said = {"cylinder_name": ("small", "delta", "large", "big", "echo"), "size_letter": ("d", "e"), "size_written": ()}
    assert slots(kit) == said


@pytest.mark.parametrize(
    ("sentence", "size"),
    [
        ("backpack one cylinder", "C"),
        ("charlie cylinder", "C"),
        ("c cylinder", "C"),
        ("c d cylinder", "CD"),
        ("CD cylinder", "CD"),
        ("M15 cylinder", "M15"),
        ("trailer bottle", "2 L"),
    ],
)
def test_a_kits_own_words_become_names(sentence: str, size: str, grammar_texts: dict[str, str]) -> None:
    kit = Kit.from_toml(OWN_WORDS)
    own = load_grammar(grammar_texts, slots(kit))
    assert understanding.understand(typed(sentence, own), own, kit)[0].meanings == (CylinderSize(size=size),)


def test_a_size_that_is_a_quantity_leaves_numerals_alone(grammar_texts: dict[str, str]) -> None:
    kit = Kit.from_toml(OWN_WORDS)
    own = load_grammar(grammar_texts, slots(kit))
    (reading,) = understanding.understand(typed("2 L", own), own, kit)
    assert reading.meanings == (FlowRate(flow=Measure(value=2, unit="L/min")),)


@pytest.mark.vosk
def test_every_word_that_can_be_said_is_in_the_recognisers_vocabulary_or_sounds_like_one(grammar: Grammar) -> None:
    vosk = pytest.importorskip("vosk")
    folder = Path(os.environ.get("OXYGEN_ASSISTANT_MODEL", ""))
    if not (folder / "am").is_dir():
        pytest.skip("set OXYGEN_ASSISTANT_MODEL to an unpacked vosk model")
    vosk.SetLogLevel(-1)
    model = vosk.Model(str(folder))
    lacking = {word for word in grammar.words() if model.vosk_model_find_word(word) < 0}
    assert lacking - read_sounds(shelf.sounds(), file="sounds.toml").keys() == set()
