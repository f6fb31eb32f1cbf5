"""Matching whole utterances: the trees, their order, and that the work stays bounded."""

from __future__ import annotations

import gc

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.grammar import Node, Tag, Word, load_grammar

MAIN = """#JSGF V1.0;
grammar main;
import <numbers.*>;
public <utterance> = <filler>* <meaning> ([and] <filler>* <meaning>)*;
<filler> = uh | um;
<meaning> = <gauge> | <flow> | <size> | <note>;
public <gauge> = [the] (bottle | gauge) reads <number> {pressure} [psi | bar {bar}];
public <flow> = <number> litres;
public <size> = <cylinder_name> cylinder;
public <note> = note <anything>;
<cylinder_name> = <VOID>;
<anything> = <VOID>;
"""
NUMBERS = """#JSGF V1.0;
grammar numbers;
public <number> = <digit>+ | <teen> hundred {x100} | (<numeral>) {typed};
<digit> = one {1} | two {2} | five {5};
<teen> = fifteen {15} | sixteen {16};
<numeral> = <VOID>;
"""
TEXTS = {"main.jsgf": MAIN, "numbers.jsgf": NUMBERS}
GRAMMAR = load_grammar(TEXTS, {"cylinder_name": ["small", "big red"]})


def small(body, **slots):
    return load_grammar({"main.jsgf": f"#JSGF V1.0;\ngrammar main;\n{body}"}, slots)


def parsed(text, **options):
    return GRAMMAR.parse(text.split(), **options)


def test_the_tree_holds_rules_words_and_tags_in_place():
    (tree,) = parsed("bottle reads fifteen hundred bar", rule="gauge")
    number = Node("number", (Node("teen", (Word("fifteen"), Tag("15"))), Word("hundred"), Tag("x100")))
    assert tree.parts == (Word("bottle"), Word("reads"), number, Tag("pressure"), Word("bar"), Tag("bar"))
    assert tree.rule == "gauge"
    assert tree.words() == ("bottle", "reads", "fifteen", "hundred", "bar")


def test_several_meanings_in_one_breath_with_fillers():
    (tree,) = parsed("uh bottle reads one five uh um two litres and big red cylinder")
    meanings = [node.nodes()[0] for node in tree.nodes() if node.rule == "meaning"]
    assert [one.rule for one in meanings] == ["gauge", "flow", "size"]
    assert meanings[2].nodes() == (Node("cylinder_name", (Word("big"), Word("red"))),)


@pytest.mark.parametrize(
    "text", ["", "uh", "bottle reads", "reads fifteen hundred", "fifteen hundred", "red cylinder", "[unk]", "note"]
)
def test_what_is_not_a_whole_sentence_does_not_match(text):
    assert parsed(text) == ()
    assert not GRAMMAR.matches(text.split())


@pytest.mark.parametrize("numeral", ["1500", "1.5", "0"])
def test_a_typed_numeral_is_a_number(numeral):
    (tree,) = parsed(f"{numeral} litres", rule="flow")
    assert tree.nodes()[0].nodes() == (Node("numeral", (Word(numeral),)),)


@pytest.mark.parametrize("word", ["1,500", "-1", "1.", "five5", "١"])
def test_other_spellings_of_numerals_are_not_taken(word):
    assert parsed(f"{word} litres") == ()


def test_a_note_takes_any_words_known_or_not():
    best = parsed("note the [unk] took 2 bottle reads")[0]
    note = best.nodes()[0].nodes()[0]
    assert note.nodes()[0] == Node("anything", tuple(map(Word, ["the", "[unk]", "took", "2", "bottle", "reads"])))


def test_an_empty_slot_matches_nothing_and_the_rest_stays():
    grammar = load_grammar(TEXTS, {"cylinder_name": []})
    assert not grammar.matches(["small", "cylinder"])
    assert grammar.matches(["one", "litres"])


def test_rivals_come_cheapest_first_by_weight_with_distinct_trees():
    grammar = small("<utterance> = /1/ <a> | /8/ <b> | /1/ <c>; <a> = x; <b> = x; <c> = y;")
    trees = grammar.parse(["x"])
    assert [tree.nodes()[0].rule for tree in trees] == ["b", "a"]
    assert trees[0].cost == pytest.approx(0.2231, abs=1e-4)  # -ln 0.8
    assert trees[1].cost == pytest.approx(2.3026, abs=1e-4)  # -ln 0.1


def test_the_same_tree_is_given_once():
    assert len(small("<utterance> = x | x | (x);").parse(["x"])) == 1


def test_tags_alone_tell_trees_apart():
    trees = small("<utterance> = two {2} | /3/ two {to};").parse(["two"])
    assert [tree.tags() for tree in trees] == [("to",), ("2",)]


def test_recursion_at_the_end_is_followed():
    grammar = small("<utterance> = a <utterance> | b;")
    (tree,) = grammar.parse(["a", "a", "b"])
    assert tree.nodes()[0].nodes()[0].parts == (Word("b"),)


def test_no_more_trees_than_asked_for_from_the_most_ambiguous_grammar():
    grammar = small("<utterance> = (<a> | <b> | <c>)+; <a> = x; <b> = x {t}; <c> = x x;")
    trees = grammar.parse(["x"] * 60, limit=8)
    assert len(trees) == len(set(trees)) == 8
    assert list(trees) == sorted(trees, key=lambda tree: tree.cost)


WORDS = [*GRAMMAR.words(typed=True), "[unk]", "1500", "gibberish"]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from(WORDS), max_size=60))
def test_any_words_give_bounded_trees_of_just_these_words(words):
    trees = GRAMMAR.parse(words)
    assert len(trees) <= 8
    assert all(tree.words() == tuple(words) for tree in trees)
    assert bool(trees) == GRAMMAR.matches(words)
    assert GRAMMAR.parse(words) == trees


@settings(max_examples=40, deadline=None)
@given(st.lists(st.sampled_from(GRAMMAR.sentences(3, 60)), min_size=1, max_size=4))
def test_sentences_one_after_the_other_match_too(sentences):
    assert GRAMMAR.matches(" ".join(sentences).split())


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.sampled_from(GRAMMAR.sentences(5, 40)).map(str.split), min_size=1, max_size=3),
    st.lists(st.tuples(st.integers(0, 12), st.lists(st.sampled_from(WORDS), max_size=3)), max_size=12),
    st.integers(1, 8),
)
def test_rivals_matched_together_come_out_as_each_alone(sentences, changes, limit):
    """Hypotheses of one utterance: a sentence cut anywhere and gone on with otherwise, in any order, some twice."""
    whole = [word for sentence in sentences for word in sentence]
    rivals = [[], whole, *([*whole[:at], *other, *whole[at + 1 :]] for at, other in changes), whole, whole[:1]]
    assert GRAMMAR.parse_each(rivals, limit=limit) == tuple(GRAMMAR.parse(words, limit=limit) for words in rivals)


def test_equal_parts_of_rivals_are_the_same_object():
    """What is worked out of a node once then counts for all rivals."""
    one, other = GRAMMAR.parse_each([["uh", "five", "litres"], ["um", "five", "litres"]])
    flow = [part for part in one[0].nodes() if part.rule == "meaning"]
    assert flow
    assert all(mine is theirs for mine, theirs in zip(flow, other[0].nodes()[-1:], strict=True))


def test_matching_leaves_nothing_to_the_garbage_collector():
    words = GRAMMAR.sentences(3, 1)[0].split()
    GRAMMAR.parse_each([words, words[:-1]])
    gc.collect()
    gc.disable()
    try:
        GRAMMAR.parse_each([words, words[:-1]])
        GRAMMAR.matches(words)
        assert gc.collect() == 0
    finally:
        gc.enable()
