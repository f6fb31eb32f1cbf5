"""What may follow some words, on a grammar small enough to reckon by hand."""

from __future__ import annotations

import pytest

from assistant.grammar import load_grammar
from assistant.grammar.continuation import Continuations

TEXT = """#JSGF V1.0 UTF-8 en;
grammar main;
public <utterance> = flow (/3/ one | /1/ one five) | /1/ stop;
"""


def continuations(text: str = TEXT) -> Continuations:
    acceptor = load_grammar({"main.jsgf": text}, {}).acceptor(unk_cost=None)
    return Continuations(acceptor.arcs, acceptor.start, acceptor.finals)


def test_probabilities_are_those_of_the_weights() -> None:
    found = continuations().after(("flow", "one"))
    assert found is not None
    assert found.complete
    assert found.ends == pytest.approx(0.75)
    assert found.nexts == (("five", pytest.approx(0.25)),)


def test_a_beginning_is_not_complete_and_has_all_its_nexts() -> None:
    found = continuations().after(("flow",))
    assert found is not None
    assert not found.complete
    assert found.nexts == (("one", pytest.approx(1.0)),)


def test_what_no_sentence_begins_with_has_no_continuation() -> None:
    assert continuations().after(("one",)) is None
    assert continuations().after(("flow", "two")) is None


def test_a_loop_keeps_its_chances_however_long_the_utterance() -> None:
    # A loop's silent arcs must not be counted twice, nor an unlikely long utterance be lost.
    text = TEXT.replace("| /1/ stop", "| /1/ (again (now | then))+")
    looped = continuations(text)
    short, long = looped.after(("again", "now")), looped.after(("again", "now") * 30)
    assert short is not None
    assert long is not None
    assert long.ends == pytest.approx(short.ends, rel=1e-6)
    assert sum(chance for _, chance in long.nexts) + long.ends == pytest.approx(1.0, abs=1e-6)
