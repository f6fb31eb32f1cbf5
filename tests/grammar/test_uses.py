"""The grammar's other uses: words and their places, examples, help, table, sentences, phrases, pocketsphinx text."""

from __future__ import annotations

import pytest

from assistant.grammar import load_grammar
from assistant.grammar.pocketsphinx import transitions

TEXTS = {
    "main.jsgf": """#JSGF V1.0;
grammar main;
import <parts.*>;
public <utterance> = <gauge> | <note> | <size> cylinder;
/**
 * What the gauge shows.
 * @example Bottle reads fifteen hundred
 * @example bottle reads 1500
 * @nonexample bottle reads
 */
public <gauge> = bottle reads <number>;
/** Words for the record. @example is not a tag in the middle of a line
 * @example note he sleeps */
public <note> = note <anything>;
""",
    "parts.jsgf": """#JSGF V1.0;
grammar parts;
public <number> = fifteen hundred | <numeral> {typed} | (k) {typed};
public <size> = <VOID>;
public <anything> = <VOID>;
<numeral> = <VOID>;
""",
}
SLOTS = {"size": ["small", "big red"]}
GRAMMAR = load_grammar(TEXTS, SLOTS)


def test_words_are_those_that_can_be_said():
    said = ("big", "bottle", "cylinder", "fifteen", "hundred", "note", "reads", "red", "small")
    assert GRAMMAR.words() == said
    assert GRAMMAR.words(typed=True) == tuple(sorted((*said, "k")))


def test_every_word_has_its_place():
    places = GRAMMAR.word_places()
    assert set(places) == set(GRAMMAR.words())
    assert places["reads"] == ("main.jsgf", 11)
    assert places["hundred"] == ("parts.jsgf", 3)
    assert places["red"] == ("parts.jsgf", 4)


def test_examples_and_near_misses_are_listed_with_their_place():
    assert [(one.rule, one.sentence, one.file, one.line) for one in GRAMMAR.examples()] == [
        ("gauge", "bottle reads fifteen hundred", "main.jsgf", 7),
        ("gauge", "bottle reads 1500", "main.jsgf", 8),
        ("note", "note he sleeps", "main.jsgf", 13),
    ]
    assert [(one.rule, one.sentence, one.line) for one in GRAMMAR.nonexamples()] == [("gauge", "bottle reads", 9)]


def test_help_gives_documented_public_rules_with_their_first_example():
    assert [(one.rule, one.example) for one in GRAMMAR.help()] == [
        ("gauge", "bottle reads fifteen hundred"),
        ("note", "note he sleeps"),
    ]
    assert GRAMMAR.help()[0].description == "What the gauge shows."


def test_the_table_is_markdown_with_every_example():
    rows = GRAMMAR.table().splitlines()
    assert rows[2] == "| `<gauge>` | What the gauge shows. | “Bottle reads fifteen hundred”; “bottle reads 1500” |"
    assert len(rows) == 4


def test_sentences_are_different_match_and_repeat_by_seed():
    sentences = GRAMMAR.sentences(7, 6)
    assert len(set(sentences)) == 6
    assert sentences == GRAMMAR.sentences(7, 6)
    assert sentences != GRAMMAR.sentences(8, 6)
    assert all(GRAMMAR.matches(sentence.split()) for sentence in sentences)


def test_sentences_come_by_their_weights():
    grammar = load_grammar(
        {"m.jsgf": "#JSGF V1.0; grammar m; <utterance> = (/9/ a | /1/ b) <anything>; <anything> = <VOID>;"}, {}
    )
    first = [sentence[0] for seed in range(200) for sentence in grammar.sentences(seed, 1)]
    assert 160 <= first.count("a") <= 198  # 180 expected of 200, standard deviation 4.2


def test_where_there_are_fewer_sentences_all_come():
    assert sorted(GRAMMAR.sentences(1, 50, rule="size")) == ["big red", "small"]


def test_phrases_cover_every_pair_of_neighbouring_words():
    phrases = GRAMMAR.phrases(1)
    pairs = {f"{one} {two}" for phrase in phrases for one, two in zip(phrase.split(), phrase.split()[1:], strict=False)}
    wanted = {
        "bottle reads",
        "reads fifteen",
        "fifteen hundred",
        "note [unk]",
        "[unk] [unk]",
        "big red",
        "red cylinder",
        "small cylinder",
    }
    assert pairs == wanted
    assert len(phrases) == len(set(phrases))


def test_the_digest_follows_texts_and_slots():
    assert GRAMMAR.digest == load_grammar(dict(reversed(TEXTS.items())), SLOTS).digest
    assert GRAMMAR.digest != load_grammar(TEXTS, {"size": ["small"]}).digest
    changed = {**TEXTS, "parts.jsgf": TEXTS["parts.jsgf"].replace("fifteen hundred", "sixteen hundred")}
    assert GRAMMAR.digest != load_grammar(changed, SLOTS).digest


def test_the_pocketsphinx_text_stands_alone_and_says_the_same():
    text = GRAMMAR.to_pocketsphinx()
    assert "import" not in text
    assert "{" not in text
    assert "VOID" not in text
    alone = load_grammar({"alone.jsgf": text}, {})
    assert set(alone.words()) == set(GRAMMAR.words())
    for sentence in GRAMMAR.sentences(2, 10):
        assert alone.matches(sentence.replace("[unk]", "bottle").split())
    assert not alone.matches(["bottle", "reads", "k"])
    assert not alone.matches(["bottle", "reads"])


def test_the_transitions_for_pocketsphinx_share_out_probability_to_one_end():
    made = transitions(GRAMMAR.acceptor(unk_cost=None))
    assert made.end not in {arc[0] for arc in made.arcs}
    for state in {arc[0] for arc in made.arcs}:
        assert sum(arc[2] for arc in made.arcs if arc[0] == state) == pytest.approx(1.0)
    assert {arc[3] for arc in made.arcs if len(arc) == 4} == {*GRAMMAR.words(), "[unk]"}
