"""Three ways to be spoken to: what is taken, and what is not."""

from __future__ import annotations

from assistant.grammar import load_grammar
from assistant.grammar.continuation import Continuations
from assistant.hearing.call_word import CalledGrammar, called
from assistant.live.addressing import WAITED_FOR_S, CallWord, OpenMicrophone, TalkKey
from assistant.utterance import Hypothesis, Utterance

CALL = ("grey", "heron")


def heard(*texts: str, seconds: float = 1.0) -> Utterance:
    return Utterance(hypotheses=tuple(Hypothesis(words=tuple(text.split())) for text in texts), seconds=seconds)


def words(utterance: Utterance | None) -> list[str] | None:
    return None if utterance is None else [hypothesis.text for hypothesis in utterance.hypotheses]


def test_an_open_microphone_takes_all_but_silence() -> None:
    assert words(OpenMicrophone().meant(heard("done"), 0.0)) == ["done"]
    assert OpenMicrophone().meant(Utterance(), 0.0) is None


def test_the_call_word_is_left_out_and_rivals_without_it_with_it() -> None:
    both = called(heard("grey heron flow six", "grey heron flow sixty", "flow six"), CALL)
    assert words(both) == ["flow six", "flow sixty"]
    assert called(heard("flow six"), CALL) is None
    assert words(called(heard("grey heron"), CALL)) == []


def call_word(*, asked: bool = False) -> tuple[CallWord, list[str]]:
    noticed: list[str] = []
    return CallWord(CALL, lambda: asked, lambda: noticed.append("yes")), noticed


def test_without_the_call_word_nothing_is_taken() -> None:
    address, noticed = call_word()
    assert address.meant(heard("flow six"), 10.0) is None
    assert words(address.meant(heard("grey heron flow six"), 20.0)) == ["flow six"]
    assert address.meant(heard("flow six"), 25.0) is None
    assert noticed == []


def test_the_call_word_alone_opens_the_ears_for_a_while() -> None:
    address, noticed = call_word()
    assert address.meant(heard("grey heron"), 10.0) is None
    assert noticed == ["yes"]
    began_in_time = address.meant(heard("flow six"), 10.0 + WAITED_FOR_S)
    assert words(began_in_time) == ["flow six"]
    assert address.meant(heard("flow six"), 13.0 + WAITED_FOR_S) is None


def test_a_question_may_be_answered_without_the_call_word() -> None:
    address, _ = call_word(asked=True)
    address.turned(10.0)
    assert words(address.meant(heard("yes"), 12.0)) == ["yes"]
    silent, _ = call_word(asked=False)
    silent.turned(10.0)
    assert silent.meant(heard("yes"), 12.0) is None


def test_the_key_opens_for_one_utterance() -> None:
    key = TalkKey()
    assert not key.listens(1.0)
    key.press(1.0)
    assert key.listens(1.0 + WAITED_FOR_S - 0.1)
    assert words(key.meant(heard("flow six"), 4.0)) == ["flow six"]
    assert not key.listens(4.1)


def test_a_held_key_repeats_and_keeps_it_open() -> None:
    key = TalkKey()
    key.press(1.0)
    key.meant(heard("flow six"), 4.0)
    key.press(4.03)
    assert key.listens(5.0)


def test_a_held_button_hears_everything_until_it_is_let_go() -> None:
    key, (call, _) = TalkKey(), call_word()
    for address in (key, call):
        address.hold(1.0)
        assert words(address.meant(heard("flow six"), 4.0)) == ["flow six"]
        assert words(address.meant(heard("done"), 60.0)) == ["done"]
        address.let_go(61.0)
        assert words(address.meant(heard("sats ninety"), 61.3)) == ["sats ninety"]
    assert not key.listens(62.0)
    assert call.meant(heard("flow six"), 64.0) is None


GRAMMAR = load_grammar({"main.jsgf": "#JSGF V1.0;\ngrammar main;\npublic <utterance> = flow (one | two) | done;\n"}, {})


def test_the_graph_takes_sentences_with_the_call_word_without_it_and_alone() -> None:
    spoken = CalledGrammar(GRAMMAR, CALL)
    acceptor = spoken.acceptor()
    may = Continuations(acceptor.arcs, acceptor.start, acceptor.finals)
    for text in ("flow one", "done", "grey heron flow two", "grey heron done", "grey heron"):
        found = may.after(text.split())
        assert found is not None, text
        assert found.complete, text
    for text in ("grey", "grey heron grey heron done", "flow grey heron"):
        found = may.after(text.split())
        assert found is None or not found.complete, text
    assert {"grey", "heron", "flow"} <= set(spoken.words())
    assert spoken.digest != GRAMMAR.digest
    assert spoken.digest != CalledGrammar(GRAMMAR, ("blue", "heron")).digest
