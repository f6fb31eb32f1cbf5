"""The reader of the grammar files: what it takes, and what it refuses, naming file and line."""

from __future__ import annotations

import pytest

from assistant.grammar import GrammarError, load_grammar
from assistant.grammar.jsgf import read_jsgf
from assistant.grammar.tree import NOTHING, InOrder, Literal, OneOf, Reference, Repeated, TagText

HEADER = "#JSGF V1.0 UTF-8 en;\ngrammar main;\n"


def expansion(text):
    return read_jsgf(f"{HEADER}<r> = {text};", file="main.jsgf").rules[0].expansion


def test_header_name_and_imports_are_read():
    read = read_jsgf("#JSGF V1.0;\ngrammar a.b;\nimport <c.*>;\nimport <d.e.one>;\n", file="x.jsgf")
    assert read.name == "a.b"
    assert [(one.grammar, one.name) for one in read.imports] == [("c", "*"), ("d.e", "one")]


def test_unary_signs_bind_before_the_sequence_and_it_before_the_bar():
    assert expansion("a b* | c") == OneOf(
        (InOrder((Literal("a", 3), Repeated(Literal("b", 3), 0, 3))), Literal("c", 3)), (1.0, 1.0)
    )


def test_weights_are_kept_and_default_to_one():
    read = expansion("/10/ a | /0.5/ b | c")
    assert isinstance(read, OneOf)
    assert read.weights == (10.0, 0.5, 1.0)


def test_an_optional_group_is_one_of_it_and_nothing():
    assert expansion("[a]") == OneOf((Literal("a", 3), NOTHING), (1.0, 1.0))


def test_the_weight_of_a_single_option_stands_against_one_for_nothing():
    assert expansion("[/0.2/ a]") == OneOf((Literal("a", 3), NOTHING), (0.2, 1.0))


def test_tags_stand_after_what_they_follow_and_may_escape_a_brace():
    assert expansion(r"a {one} {t\}wo}") == InOrder((InOrder((Literal("a", 3), TagText("one"))), TagText("t}wo")))


def test_quotes_hold_words_with_reserved_signs():
    assert expansion('"/ Per" a') == InOrder((InOrder((Literal("/", 3), Literal("per", 3))), Literal("a", 3)))


def test_null_is_nothing_and_names_may_be_qualified():
    assert expansion("<NULL> <other.rule>") == InOrder((NOTHING, Reference("rule", 3, "other")))


def test_comments_are_passed_over_and_lines_still_count():
    text = HEADER + "// <not> = read\n/* nor\nthis */\n<r> = // inside\n  a /* here */ b;\n"
    rule = read_jsgf(text, file="main.jsgf").rules[0]
    assert (rule.line, rule.expansion) == (6, InOrder((Literal("a", 7), Literal("b", 7))))


def test_a_documentation_comment_belongs_to_the_rule_after_it():
    text = (
        HEADER
        + "/**\n * What the gauge\n * shows.\n * @example bottle reads\n *   nine hundred\n * @see <x>\n"
        + " * @nonexample bottle\n */\npublic <r> = a;\n<s> = b;"
    )
    first, second = read_jsgf(text, file="main.jsgf").rules
    assert first.doc.description == "What the gauge shows."
    assert [(tag.name, tag.text, tag.line) for tag in first.doc.tags] == [
        ("example", "bottle reads nine hundred", 6),
        ("see", "<x>", 8),
        ("nonexample", "bottle", 9),
    ]
    assert (first.public, second.public, second.doc.tags) == (True, False, ())


NOT_LAST = "comes back to <utterance> before its end; write it with * or +"
SILENT = "comes back to <utterance> with no word said between"
EMPTY = "a loop in <utterance> repeats something that may be empty"


@pytest.mark.parametrize(
    ("body", "message"),
    [
        ("<utterance> = <gage>;\n<gauge> = a;", "3: <gage> is not defined; nearest is <gauge>"),
        ("<utterance> = a;\n<utterance> = b;", "4: <utterance> is already defined at main.jsgf:3"),
        ("<utterance> = a | ;", "3: nothing to say here; write <NULL> where that is meant"),
        ("<utterance> = (a | b;", "3: ';' where ')' or '|' must be"),
        ("<utterance> = a\n<b> = c;", "4: '=' where ';' or '|' must be"),
        ("<utterance> = /x/ a | b;", '3: /x/ is no weight; a word with "/" in it stands in double quotes'),
        ("<utterance> = /0/ a | b;", "3: the weight /0/ is not above zero"),
        ("<utterance> = a {open;", "3: cannot read '{open;'; a word with such signs stands in double quotes"),
        ("<utterance> = a", "3: 'the end of the file' where ';' or '|' must be"),
        ("<NULL> = a;", "3: <NULL> cannot be defined"),
        ("import <numbrs.*>;\n<utterance> = a;", "3: no grammar is called numbrs; nearest is <numbers>"),
        ("import <numbers.digitt>;\n<utterance> = a;", "3: numbers has no public rule <digitt>; nearest is <digit>"),
        ("import <numbers.*>;\n<utterance> = <hidden>;", "4: <hidden> is not imported, or not public"),
        ("<utterance> = <digit>;", "3: <digit> is not imported, or not public"),
        ("<utterance> =\n(a | [b])*;", f"4: {EMPTY}"),
        ("<utterance> = <e>+;\n<e> = [a] {t};", f"3: {EMPTY}"),
        ("<utterance> = a <b> c | d;\n<b> = <utterance>;", f"3: <b> {NOT_LAST}"),
        ("<utterance> = <utterance> a | b;", f"3: <utterance> {NOT_LAST}"),
        ("<utterance> = [a] <b> | c;\n<b> = <utterance>;", f"3: <b> {SILENT}"),
        ("<utterance> = a <utterance>;", "3: <utterance> never comes to an end"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_its_place(body, message):
    texts = {
        "main.jsgf": HEADER + body,
        "numbers.jsgf": "#JSGF V1.0;\ngrammar numbers;\npublic <digit> = one;\n<hidden> = a;",
    }
    with pytest.raises(GrammarError) as error:
        load_grammar(texts, {})
    assert str(error.value) == f"main.jsgf:{message}"


def test_a_file_without_the_header_is_refused():
    with pytest.raises(GrammarError, match=r'^main\.jsgf:1: must begin with "#JSGF V1\.0;"$'):
        load_grammar({"main.jsgf": "grammar main;"}, {})


def test_a_grammar_without_the_root_is_refused():
    with pytest.raises(GrammarError, match="no file defines the root rule <utterance>"):
        load_grammar({"main.jsgf": HEADER + "<r> = a;"}, {})


def test_a_slot_that_no_file_declares_is_refused():
    with pytest.raises(
        GrammarError, match=r"<cylinder_nam> is not declared <VOID> by any file; nearest is <cylinder_name>"
    ):
        load_grammar(
            {"main.jsgf": HEADER + "<utterance> = <cylinder_name>;\n<cylinder_name> = <VOID>;"},
            {"cylinder_nam": ["small"]},
        )
