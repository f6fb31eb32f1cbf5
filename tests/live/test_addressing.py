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


def test_the_dialogue_is_told_where_a_key_or_the_call_word_addressed_it() -> None:
    address, _ = call_word()
    called_to, open_to, key = address.meant(heard("grey heron flow six"), 20.0), heard("flow six"), TalkKey()
    key.press(1.0)
    pressed, overheard = key.meant(heard("flow six"), 4.0), OpenMicrophone().meant(open_to, 0.0)
    assert [meant is not None and meant.addressed for meant in (called_to, pressed, overheard)] == [True, True, False]


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


def repeated(key: TalkKey, from_s: float, to_s: float, *, every_s: float = 0.033) -> float:
    """A terminal's key held meanwhile: it repeats after half a second. Gives the time of the last repeat."""
    key.press(from_s)
    at_s = from_s + 0.5
    while at_s < to_s:
        key.press(at_s)
        at_s += every_s
    return at_s - every_s


def test_a_terminals_key_is_held_while_it_repeats_and_let_go_of_when_it_does_no_more() -> None:
    key = TalkKey()
    last_s = repeated(key, 1.0, 4.0)
    assert key.listens(last_s + 0.3), "the last word is heard"
    assert not key.listens(last_s + 1.0), "and nothing after it, as long as a stroke would wait"


def test_a_held_key_hears_one_sentence_after_the_other() -> None:
    key = TalkKey()
    repeated(key, 1.0, 4.0)
    assert words(key.meant(heard("flow six"), 4.0)) == ["flow six"]
    key.press(4.03)
    assert key.listens(4.5)


def test_repeats_that_come_unevenly_over_a_network_are_one_hold() -> None:
    key = TalkKey()
    repeated(key, 1.0, 2.0)
    for at_s in (2.2, 2.2, 2.45, 2.7):
        key.press(at_s)
    assert key.listens(3.0)
    assert not key.listens(3.5)


def test_a_key_struck_twice_is_no_hold() -> None:
    key = TalkKey()
    key.press(1.0)
    key.press(1.12)
    assert key.listens(8.0)


def test_a_key_that_tells_of_its_release_soon_was_struck() -> None:
    struck, held = TalkKey(), TalkKey()
    for key, let_go_s in ((struck, 1.1), (held, 3.0)):
        key.hold(1.0)
        key.hold(1.05)  # it repeats
        key.let_go(let_go_s)
    assert struck.listens(8.0)
    assert held.listens(3.3)
    assert not held.listens(3.5)


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


def test_a_word_of_the_call_lends_its_sound_to_no_other() -> None:
    texts = {"main.jsgf": "#JSGF V1.0;\ngrammar main;\npublic <utterance> = ten litres | the bottle;\n"}
    grammar = load_grammar(texts, {}, sounds={"litres": ("liters",), "bottle": ("bartle",)})
    assert CalledGrammar(grammar, ("grey", "bartle")).sounds() == {"litres": ("liters",)}


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
