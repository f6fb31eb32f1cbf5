"""Branches that sentences take become likelier, none becomes impossible, and numbers stay as written."""

from math import exp

import pytest

from assistant.grammar import load_grammar

FILES = {
    "main.jsgf": """#JSGF V1.0 UTF-8 en;
grammar main;
import <numbers.*>;
public <utterance> = [/1/ please] (gauge | flow {typed} | /1/ bottle) [/1/ reads] <number> (and <number>)*;
""",
    "numbers.jsgf": """#JSGF V1.0 UTF-8 en;
grammar numbers;
public <number> = one {1} | two {2};
""",
}


def first_costs(said: list[str]) -> dict[str, float]:
    """The probability of each first word."""
    acceptor = load_grammar(FILES, {}, said=said).acceptor(unk_cost=None)
    return {word: exp(-cost) for source, word, cost, _ in acceptor.arcs if source == acceptor.start}


def probability(said: list[str], sentence: str) -> float:
    acceptor = load_grammar(FILES, {}, said=said).acceptor(unk_cost=None)
    state, cost = acceptor.start, 0.0
    for spoken in sentence.split():
        cost, state = next((cost + more, end) for at, word, more, end in acceptor.arcs if (at, word) == (state, spoken))
    return exp(-cost - acceptor.finals[state])


def test_without_sentences_the_weights_are_as_written():
    assert first_costs([])["gauge"] == pytest.approx(first_costs([])["bottle"])


def test_what_is_said_becomes_likelier_and_the_rest_stays_possible():
    before, after = first_costs([]), first_costs(["bottle reads one"] * 20)
    assert after["bottle"] > 2 * after["gauge"] > 0
    assert after["please"] < before["please"]


def test_a_sentence_that_does_not_match_teaches_nothing():
    assert first_costs(["flow one", "something else"]) == first_costs([])


def test_which_number_is_said_is_not_learned():
    said = ["gauge reads one"] * 50
    assert probability(said, "gauge one") == pytest.approx(probability(said, "gauge two"))


def test_a_loop_learns_how_often_it_goes_on():
    alone, twice = ["gauge one"] * 20, ["gauge one and two and one"] * 20
    assert probability(alone, "gauge one and one") < probability(twice, "gauge one and one")
    assert probability(alone, "gauge one and one and one") < probability(twice, "gauge one and one and one")


def test_all_that_can_be_said_still_adds_up_to_one():
    acceptor = load_grammar(FILES, {}, said=["gauge reads one and two"] * 5).acceptor(unk_cost=None)
    leaving = dict.fromkeys(range(acceptor.state_count), 0.0)
    for at, _, cost, _ in acceptor.arcs:
        leaving[at] += exp(-cost)
    for state, cost in acceptor.finals.items():
        leaving[state] += exp(-cost)
    assert all(total == pytest.approx(1.0) for total in leaving.values())


def test_the_digest_tells_what_was_learned_from():
    assert load_grammar(FILES, {}).digest != load_grammar(FILES, {}, said=["gauge one"]).digest
