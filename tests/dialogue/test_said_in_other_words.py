"""What the grammar has no sentence for, but a second model wrote down: its values are asked for, and never taken."""

from __future__ import annotations

import pytest

from assistant.dialogue.moves import step_asks
from assistant.dialogue.turn import Setting
from assistant.meaning.understand import understood_freely
from assistant.utterance import Hypothesis, Utterance
from tests.dialogue.talking import Talk

BEFORE = ("gauge reads 1500", "small cylinder", "cannula at 4")


def wrote(text: str) -> Utterance:
    """Words that come to no sentence, and what the second model wrote of them."""
    ours = Hypothesis(words=("we", "can't", "see", "a", "thing"), log_likelihood=80.0, rated=-40.0)
    behind = Hypothesis(words=("we",), log_likelihood=79.0)
    return Utterance(
        hypotheses=(ours,),
        background=behind,
        seconds=1.0,
        engine="vosk",
        freely=Hypothesis(words=tuple(text.split()), log_likelihood=-2.0),
        freely_ahead=38.0,
    )


@pytest.mark.parametrize(
    ("text", "reply"),
    [
        ("Well, I turned her up to six liters because she looks a bit blue.", "Flow six litres, yes or no?"),
        ("We are on the island and the gage reads 900 now with the tide in.", "Gauge nine zero zero, yes or no?"),
        ("Look his saturation is 91 after all that smoke.", "Saturation nine one percent, yes or no?"),
        (
            "The smoke got him badly, so I put him on a non-rebreather at 15 liters straight away.",
            "Non-rebreather; flow one five litres, yes or no?",
        ),
    ],
)  # fmt: skip
def test_a_value_among_other_words_is_asked_for(setting: Setting, text: str, reply: str) -> None:
    talk = Talk(setting, *BEFORE)
    before = talk.incident.state
    turn = talk.hears(wrote(text))
    assert (turn.outcome, turn.reply) == ("asked", reply)
    assert (talk.psi, talk.incident.state.patients) == (1500, before.patients)
    assert talk.types("yes").outcome == "taken"


def test_a_yes_puts_it_in_force(setting: Setting) -> None:
    talk = Talk(setting, *BEFORE)
    talk.hears(wrote("Well, I turned her up to six liters because she looks a bit blue."))
    talk.types("yes")
    assert talk.incident.state.patients["1"].flow_l_min == 6


@pytest.mark.parametrize(
    "text",
    [
        "The battery is at 91% on this radio.",
        "My phone is down to 40%.",
        "The gas bottle for the cooker costs 65 pounds.",
        "I'll be back in nine minutes.",
        "Call me on extension 1300.",
        "Come round to port about ten degrees.",
        "How long have you worked here?",
        "There is a leak in the roof, I think.",
        "Don't you dare turn it up to six liters.",
        "They had 1500 psi on the gauge yesterday.",
        "His saturation is 140 I tell you.",
        "You",
    ],
)
def test_what_is_of_something_else_denied_past_or_impossible_is_left_alone(setting: Setting, text: str) -> None:
    assert Talk(setting, *BEFORE).hears(wrote(text)).outcome == "ignored"


SIX_LITRES = "Well, I turned her up to six liters because she looks blue."


def test_while_a_question_is_open_nothing_else_is_asked_until_it_was_left(setting: Setting) -> None:
    talk = Talk(setting, "small cylinder", "cannula at 4")
    assert talk.incident.state.question is not None
    assert talk.hears(wrote(SIX_LITRES), after_s=5).outcome == "ignored"
    assert talk.hears(wrote(SIX_LITRES), after_s=20).reply == "Flow six litres, yes or no?"


def test_an_answer_in_other_words_is_asked_for_at_once(setting: Setting) -> None:
    talk = Talk(setting, "small cylinder", "cannula at 4")
    turn = talk.hears(wrote("Hang on mate, it says the gauge reads 900 now I reckon."), after_s=5)
    assert turn.reply == "Gauge nine zero zero, yes or no?"
    talk.types("yes")
    assert talk.psi == 900


def test_a_reading_that_waits_to_be_confirmed_is_not_lost(setting: Setting) -> None:
    talk = Talk(setting, *BEFORE)
    talk.hears(wrote(SIX_LITRES))
    assert talk.hears(wrote("Look his saturation is 91 after all that smoke."), after_s=60).outcome == "ignored"
    talk.types("yes")
    assert talk.incident.state.patients["1"].flow_l_min == 6


def test_beside_a_step_that_waits_for_yes_or_no_nothing_is_asked(setting: Setting) -> None:
    talk = Talk(setting, *BEFORE, "start set up from the leak check")
    for _ in range(8):
        if step_asks(setting.procedures, talk.incident.state) == "answer":
            break
        talk.types("done")
    assert step_asks(setting.procedures, talk.incident.state) == "answer"
    assert talk.hears(wrote(SIX_LITRES)).outcome == "ignored"
    assert talk.incident.state.patients["1"].flow_l_min == 4


def test_without_a_second_model_there_is_nothing_to_go_by(setting: Setting) -> None:
    alone = Utterance(hypotheses=wrote("x").hypotheses, seconds=1.0, engine="vosk")
    assert understood_freely(alone, setting.grammar, setting.kit) == ()
    assert Talk(setting, *BEFORE).hears(alone).outcome == "ignored"
