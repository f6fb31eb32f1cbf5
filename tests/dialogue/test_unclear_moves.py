"""A "done" that was not clearly heard: asked where the next step opens a valve, taken where it is harmless."""

from __future__ import annotations

import pytest

from assistant.dialogue.clearness import CLEAR_SHARE, share_of
from assistant.dialogue.turn import Setting
from assistant.meaning.typed import typed
from assistant.meaning.understand import understand
from assistant.utterance import Hypothesis, Utterance
from tests.dialogue.talking import Talk

# The rival is as likely as the word itself; a decoy outside the grammar counts as a rival too.
UNCLEAR = {"no": -0.7, "gun": -0.7}


def _heard(words: str, rivals: dict[str, float]) -> Utterance:
    others = (Hypothesis(words=tuple(word.split()), log_likelihood=score) for word, score in rivals.items())
    return Utterance(hypotheses=(Hypothesis(words=tuple(words.split())), *others), seconds=1.0)


BEFORE_THE_VALVE = ("start the set up from the regulator", "done")


def test_an_unclear_done_before_the_valve_is_asked(setting: Setting) -> None:
    talk = Talk(setting, *BEFORE_THE_VALVE)
    assert talk.step == "tighten"
    turn = talk.hears(_heard("done", UNCLEAR))
    assert (turn.outcome, turn.reply, talk.step) == ("asked", "Did you say done?", "tighten")
    assert turn.asked is not None
    assert turn.asked.choices == ({"kind": "step", "move": "done"},)


@pytest.mark.parametrize("answer", ["yes", "done"])
def test_the_question_is_answered_by_a_clear_yes_or_by_the_word_again(setting: Setting, answer: str) -> None:
    talk = Talk(setting, *BEFORE_THE_VALVE)
    talk.hears(_heard("done", UNCLEAR))
    assert talk.hears(_heard("yes", UNCLEAR)).outcome == "asked"
    assert talk.step == "tighten"
    assert talk.hears(_heard(answer, {})).outcome == "taken"
    assert talk.step == "open_key"
    assert talk.incident.state.question is None


def test_no_leaves_the_step(setting: Setting) -> None:
    talk = Talk(setting, *BEFORE_THE_VALVE)
    talk.hears(_heard("done", UNCLEAR))
    talk.hears(_heard("no", {}))
    assert talk.step == "tighten"


def test_a_clear_done_goes_on(setting: Setting) -> None:
    talk = Talk(setting, *BEFORE_THE_VALVE)
    assert talk.hears(_heard("done", {"no": -8.0})).outcome == "taken"
    assert talk.step == "open_key"


def test_an_unclear_done_goes_on_where_nothing_unsafe_follows(setting: Setting) -> None:
    talk = Talk(setting, "start set up")
    assert talk.hears(_heard("done", UNCLEAR)).outcome == "taken"
    assert talk.step == "flames"


def test_a_value_said_with_an_unclear_done_is_not_lost(setting: Setting) -> None:
    talk = Talk(setting, *BEFORE_THE_VALVE)
    turn = talk.hears(_heard("done saturation ninety one", {"yes saturation ninety one": -1.5}))
    assert turn.outcome == "asked"
    talk.hears(typed("yes", setting.grammar))
    assert talk.step == "open_key"
    assert talk.incident.state.patients["1"].vitals["oxygen_saturation"].value == 91


def test_the_share_adds_up_what_says_the_same(setting: Setting) -> None:
    heard = _heard("done", {"that's done": 0.0, "no": 0.0})
    heard = Utterance(
        hypotheses=tuple(Hypothesis(words=tuple(h.text.split()), log_likelihood=0.0) for h in heard.hypotheses)
    )
    best = understand(heard, setting.grammar, setting.kit)[0]
    assert share_of(best, heard) == pytest.approx(2 / 3)
    assert share_of(best, typed("done", setting.grammar)) == 1.0
    assert CLEAR_SHARE > 2 / 3
