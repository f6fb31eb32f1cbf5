"""A line of which the grammar has only a part: its values are asked for, never taken."""

from __future__ import annotations

import pytest

from assistant.dialogue.turn import Setting
from tests.dialogue.talking import Talk


def flow_of(talk: Talk) -> float | None:
    return talk.incident.state.patients["1"].flow_l_min


def test_a_value_among_other_words_is_asked_for(talk: Talk) -> None:
    turn = talk.types("hmm blimey just cranked the poor lad to 6 litres because he looks blue")
    assert (turn.outcome, turn.reply) == ("asked", "Flow six litres, yes or no?")
    assert flow_of(talk) == 4
    assert talk.types("yes").outcome == "taken"
    assert flow_of(talk) == 6


def test_a_no_leaves_what_was_in_force(talk: Talk) -> None:
    talk.types("hmm blimey just cranked the poor lad to 6 litres because he looks blue")
    assert talk.types("no").reply == "What flow is set?"
    assert flow_of(talk) == 4


def test_two_values_are_offered_together_and_denied_together(talk: Talk) -> None:
    line = "blimey the gauge reads 1350 medevac reckons handover in 45 minutes"
    turn = talk.types(line)
    assert turn.reply == "Gauge one three five zero; hand-over in forty five minutes, yes or no?"
    assert talk.types("no").reply == "Say it all again, please."
    assert talk.psi == 1500
    assert talk.incident.state.handover_at_s is None
    talk.types(line)
    talk.types("yes")
    assert talk.psi == 1350
    assert talk.incident.state.handover_at_s is not None


@pytest.mark.parametrize(
    "line",
    [
        "don't you dare turn it to 12 litres mate",
        "blimey what if we ran 12 litres",
        "the lads had 12 litres earlier",
        "somebody wants 12 litres",
        "blimey 12 litres 7 goats",
        "saturation ninety boats of 7 percent",
        "the weather is lovely",
    ],
)
def test_what_is_denied_supposed_past_or_unclear_gives_nothing(talk: Talk, line: str) -> None:
    turn = talk.types(line)
    assert turn.outcome == "ignored"
    assert flow_of(talk) == 4


def test_a_value_that_cannot_be_is_not_offered(talk: Talk) -> None:
    turn = talk.types("blimey the poor lad has saturation 140 mate honestly")
    assert "140" not in turn.reply
    assert "one four zero" not in turn.reply
    assert turn.outcome in ("asked", "ignored")


def test_a_question_among_other_words_is_answered(talk: Talk) -> None:
    turn = talk.types("blimey remind me how long is this going to last")
    assert turn.outcome == "taken"
    assert "minutes" in turn.reply


def test_a_bare_answer_at_the_end_of_other_words_is_asked_for(setting: Setting) -> None:
    talk = Talk(setting, "small cylinder", "cannula at four")
    turn = talk.types("blimey looks like fifteen hundred")
    assert (turn.outcome, turn.reply) == ("asked", "Gauge fifteen hundred, yes or no?")
    talk.types("yes")
    assert talk.psi == 1500


def test_of_two_numbers_neither_is_the_answer(setting: Setting) -> None:
    talk = Talk(setting, "small cylinder", "cannula at four")
    assert talk.types("turning the oxygen to ten his sats should be ninety four").outcome == "ignored"


def test_a_number_of_something_else_is_no_answer(setting: Setting) -> None:
    talk = Talk(setting, "small cylinder", "cannula at four")
    assert talk.types("blimey i can see two boats").outcome == "ignored"


@pytest.mark.parametrize(
    ("line", "offered"),
    [
        ("her hands are cold so take this with a grain of salt but the sat's 91", "Saturation nine one percent"),
        ("i couldn't see a thing before but now the gauge reads 1350", "Gauge one three five zero"),
        ("it was no easy thing with these gloves but the blood pressure's 120 over 70", "Systolic one two zero"),
        ("got the probe on his other finger and now it's giving me 93", "Saturation nine three percent"),
        ("counted at the wrist there his heart is racing i make it 130", "Heart rate one three zero"),
        ("i have been watching his chest go up and down for a bit and i get 28", "Breathing rate two eight"),
        ("the skipper called and she says 40 minutes with this tide", "Hand-over in forty minutes"),
        ("wiped the glass and the old needle looks to be sitting by 900 there", "Gauge nine zero zero"),
        ("he drifted off a bit and he's responding to voice and his breathing's gone to 24", "Breathing rate two four"),
    ],
)
def test_one_number_is_of_what_another_word_of_the_line_names(talk: Talk, line: str, offered: str) -> None:
    turn = talk.types(line)
    assert turn.outcome == "asked"
    assert offered.lower() in turn.reply.lower()
    assert turn.reply.endswith("yes or no?")


@pytest.mark.parametrize(
    "line",
    [
        "the gauge was on 1350 and that is all i know",
        "if the needle drops i will shout and say 900",
        "her pulse is not the 140 it had been",
        "two lads from the boat with 40 minutes of petrol",
        "we burn nine litres of petrol a day on that launch",
        "four bottles by the fire",
        "the cuff says 120 and then 130",
        "took me two tries but the gauge reads 1350",
        "figures 17 and 769 on the gauge",
    ],
)
def test_a_number_that_is_denied_past_counted_or_one_of_two_is_not_offered(talk: Talk, line: str) -> None:
    assert talk.types(line).outcome == "ignored"


def test_what_merely_looks_like_a_change_or_an_alert_heard_changes_nothing(talk: Talk) -> None:
    turn = talk.types("okay i moved it to the ear and the sats are 93")
    assert turn.reply == "Saturation nine three percent, yes or no?"
    assert talk.types("you can quit the walkthrough i know the rest").outcome == "ignored"


def test_hissing_that_is_heard_is_no_alert_heard(talk: Talk) -> None:
    turn = talk.types("i can hear it leaking around the regulator")
    assert [m.kind for m in turn.understood] == ["problem"]
    assert turn.reply.startswith("Shut the valve now.")


def test_one_trouble_told_twice_is_one(talk: Talk) -> None:
    turn = talk.types("there's a leak hissing at the regulator")
    assert [m.kind for m in turn.understood] == ["problem"]


def test_a_value_told_with_a_change_of_bottle_is_not_lost(talk: Talk) -> None:
    turn = talk.types("patient is at 92 percent on the finger swapped bottles okay 100 bar left in it")
    assert turn.reply == "Saturation nine two percent; another bottle in use; gauge one zero zero bar, yes or no?"
    assert talk.types("yes").outcome == "taken"
    assert talk.incident.state.cylinder == "2"
