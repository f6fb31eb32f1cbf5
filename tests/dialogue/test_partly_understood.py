"""A line of which the grammar has only a part: its values are asked for, never taken."""

from __future__ import annotations

import pytest

from assistant.app import setting_for
from assistant.dialogue.turn import Setting
from assistant.oxygen.kit import default_kit
from tests.dialogue.talking import Talk


@pytest.fixture(scope="module")
def setting() -> Setting:
    return setting_for(default_kit())


@pytest.fixture
def talk(setting: Setting) -> Talk:
    return Talk(setting, "gauge reads 1500", "small cylinder", "cannula at four")


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
