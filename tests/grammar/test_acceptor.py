"""The recogniser's graph: it accepts what the parser accepts, and its costs are probabilities."""

from __future__ import annotations

from collections import defaultdict
from math import exp, inf, log

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.grammar import load_grammar
from assistant.grammar.acceptor import Acceptor


def small(body, **slots):
    return load_grammar({"main.jsgf": f"#JSGF V1.0;\ngrammar main;\n{body}"}, slots)


def cost_of(acceptor: Acceptor, words) -> float:
    """The cheapest way through the acceptor; infinite where there is none."""
    arcs = defaultdict(list)
    for source, word, cost, target in acceptor.arcs:
        arcs[source, word].append((cost, target))

    def silently(costs):
        waiting = list(costs)
        while waiting:
            state = waiting.pop()
            for more, target in arcs[state, ""]:
                if costs[state] + more < costs.get(target, inf):
                    costs[target] = costs[state] + more
                    waiting.append(target)
        return costs

    now = silently({acceptor.start: 0.0})
    for word in words:
        following: dict[int, float] = {}
        for state, cost in now.items():
            for more, target in arcs[state, word]:
                following[target] = min(cost + more, following.get(target, inf))
        now = silently(following)
    return min((cost + acceptor.finals[state] for state, cost in now.items() if state in acceptor.finals), default=inf)


ITEMS = " | ".join(f"w{n} [now]" for n in range(60))
GRAMMAR = small(f"""
<utterance> = [so] <item> ([and] <item>)* [over];
<item> = /9/ <number> (litres | bar) | {ITEMS} | <size> cylinder | <typing>;
<number> = <digit>+ [point <digit>] | fifteen [hundred] | (<numeral>) {{typed}};
<digit> = one | two | five;
<typing> = nrb {{typed}};
<size> = <VOID>; <numeral> = <VOID>;
""", size=["small", "big red"])  # fmt: skip
ACCEPTOR = GRAMMAR.acceptor(unk_cost=None)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(GRAMMAR.sentences(1, 300)), st.randoms(use_true_random=False))
def test_it_accepts_what_matches_and_only_that(sentence, random):
    words = sentence.split()
    assert cost_of(ACCEPTOR, words) < inf
    random.shuffle(words)
    assert (cost_of(ACCEPTOR, words) < inf) == GRAMMAR.matches(words)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from(GRAMMAR.words()), max_size=8))
def test_any_words_are_accepted_just_where_they_match(words):
    assert (cost_of(ACCEPTOR, words) < inf) == GRAMMAR.matches(words)


def test_what_can_only_be_typed_is_not_listened_for():
    assert GRAMMAR.matches(["nrb"])
    assert GRAMMAR.matches(["5", "litres"])
    assert {word for _, word, _, _ in ACCEPTOR.arcs} == {"", *GRAMMAR.words()}
    assert "nrb" not in GRAMMAR.words()


def test_each_state_has_one_arc_for_a_word_and_its_costs_are_probabilities():
    left = defaultdict(float)
    seen = set()
    for source, word, cost, _ in ACCEPTOR.arcs:
        assert (source, word) not in seen
        seen.add((source, word))
        left[source] += exp(-cost)
    for state, cost in ACCEPTOR.finals.items():
        left[state] += exp(-cost)
    assert len(left) == ACCEPTOR.state_count
    assert all(total == pytest.approx(1.0) for total in left.values())


def test_a_wide_loop_is_entered_silently_from_everywhere():
    assert any(word == "" for _, word, _, _ in ACCEPTOR.arcs)
    assert len(ACCEPTOR.arcs) < 400


def test_costs_are_those_of_the_grammar_where_it_is_simple():
    acceptor = small("<utterance> = /3/ a [b] | /1/ c;").acceptor(unk_cost=None)
    assert cost_of(acceptor, ["a"]) == pytest.approx(-log(3 / 4 / 2))
    assert cost_of(acceptor, ["a", "b"]) == pytest.approx(-log(3 / 4 / 2))
    assert cost_of(acceptor, ["c"]) == pytest.approx(-log(1 / 4))


def test_ways_to_the_same_words_add_up():
    acceptor = small("<utterance> = a | a | b | <x>; <x> = a | c;").acceptor(unk_cost=None)
    assert cost_of(acceptor, ["a"]) == pytest.approx(-log(5 / 8))


def test_loops_of_equal_words_with_unequal_costs_have_an_end():
    acceptor = small("<utterance> = /1/ (x (/9/ x | y))* a | /2/ (x (/1/ x | y))* b;").acceptor(unk_cost=None)
    assert cost_of(acceptor, ["x", "x", "x", "y", "a"]) < inf
    assert cost_of(acceptor, ["x", "x", "x", "y", "b"]) < inf
    assert cost_of(acceptor, ["x", "y", "x", "a"]) == inf


def test_other_talk_stands_beside_the_sentences():
    acceptor = small("<utterance> = a (b)*;").acceptor(unk_cost=4.0, unk_loop_cost=1.5)
    assert cost_of(acceptor, ["[unk]"]) == pytest.approx(4.0)
    assert cost_of(acceptor, ["[unk]"] * 3) == pytest.approx(7.0)
    assert cost_of(acceptor, ["a", "b"]) < inf
    assert cost_of(acceptor, ["a", "[unk]"]) == inf
    assert cost_of(acceptor, ["[unk]", "a"]) == inf


def test_free_words_are_a_loop_of_unknowns():
    acceptor = small("<utterance> = note <anything> | a; <anything> = <VOID>;").acceptor(unk_cost=None)
    assert cost_of(acceptor, ["note", "[unk]", "[unk]"]) < inf
    assert cost_of(acceptor, ["note"]) == inf


def test_scaling_multiplies_every_cost():
    acceptor = small("<utterance> = a | b [c];").acceptor(unk_cost=None)
    assert cost_of(acceptor.scaled(2.0), ["b", "c"]) == pytest.approx(2 * cost_of(acceptor, ["b", "c"]))


def test_recursion_at_the_end_becomes_a_loop():
    acceptor = small("<utterance> = a <more>; <more> = b <utterance> | c;").acceptor(unk_cost=None)
    assert acceptor.state_count == 3
    assert cost_of(acceptor, ["a", "b", "a", "b", "a", "c"]) < inf
