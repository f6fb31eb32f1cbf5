"""What is asked of a doubtful utterance, and the words that answer it: one yes, the first one, a fresh value."""

from __future__ import annotations

from math import inf

import pytest

from assistant.dialogue.asking import FIRST_OR_SECOND
from assistant.dialogue.turn import Setting
from assistant.meaning import kinds as k
from assistant.screens.web.snapshot import snapshot
from tests.dialogue.test_decide import TWO_GAUGES, Talk, heard

TWO_VALUES = ("sats ninety four pulse eighty", 0.0), ("sats ninety one pulse ninety", 1.0)


def vitals(talk: Talk) -> dict[str, float | str]:
    return {sign: vital.value for sign, vital in talk.incident.state.patients["1"].vitals.items()}


@pytest.mark.parametrize(("answer", "psi"), [("the first one", 1600), ("the second one", 1800), ("yes", 1600)])
@pytest.mark.parametrize("spoken", [False, True])
def test_of_two_values_that_sound_alike_a_word_unlike_them_tells_which(
    setting: Setting, answer: str, psi: float, spoken: bool
) -> None:
    talk = Talk(setting)
    assert talk.hears(heard(*TWO_GAUGES)).reply == (
        "Sixteen hundred, or eighteen hundred? The first one, or the second one?"
    )
    turn = talk.says(answer) if spoken else talk.types(answer)
    assert (turn.outcome, talk.psi) == ("taken", psi)


def test_one_yes_is_asked_for_where_one_value_is_far_ahead(setting: Setting) -> None:
    talk = Talk(setting)
    turn = talk.hears(
        heard(("gauge reads sixteen hundred", 0.0), ("gauge reads eighteen hundred", 2.6), lead_a_word=2.0)
    )
    assert (turn.outcome, turn.reply) == ("asked", "Gauge sixteen hundred, yes or no?")


def test_where_two_values_are_doubtful_one_yes_confirms_both(setting: Setting) -> None:
    talk = Talk(setting)
    turn = talk.hears(heard(*TWO_VALUES))
    assert (turn.outcome, turn.reply) == ("asked", "Saturation nine four percent; heart rate eight zero, yes or no?")
    assert talk.says("yes").outcome == "taken"
    assert vitals(talk) == {"oxygen_saturation": 94, "heart_rate": 80}


def test_a_no_to_both_takes_neither(setting: Setting) -> None:
    talk = Talk(setting)
    talk.hears(heard(*TWO_VALUES))
    assert talk.says("no").reply == "Say it all again, please."
    assert "1" not in talk.incident.state.patients or vitals(talk) == {}


def test_a_fresh_value_for_one_leaves_the_other_to_be_confirmed(setting: Setting) -> None:
    talk = Talk(setting)
    talk.hears(heard(*TWO_VALUES))
    turn = talk.says("sats ninety six")
    assert (turn.outcome, turn.reply) == ("asked", "Saturation nine six percent; heart rate eight zero, yes or no?")
    talk.says("yes")
    assert vitals(talk) == {"oxygen_saturation": 96, "heart_rate": 80}


def test_all_of_it_said_again_replaces_all_of_it(setting: Setting) -> None:
    talk = Talk(setting)
    talk.hears(heard(*TWO_VALUES))
    talk.says("sats ninety six pulse seventy")
    assert vitals(talk) == {"oxygen_saturation": 96, "heart_rate": 70}


def test_two_problems_that_sound_alike_are_offered_by_name(setting: Setting) -> None:
    talk = Talk(setting)
    turn = talk.hears(heard(("the valve is stuck", 0.0), ("there's no flow", 0.2)))
    assert turn.reply == "The valve is stuck, or no gas comes? The first one, or the second one?"
    assert talk.says("the second one").understood == (k.Problem(what="no_flow"),)


def test_what_was_said_of_whom_counts_for_no_answer(setting: Setting) -> None:
    """ "Patient two" heard beside "patient two pulse forty two" must not make it likelier when it is said again."""
    talk = Talk(setting, "cannula at four")
    turn = talk.hears(heard(("patient two pulse forty two", 0.0), ("patient two", 0.3)))
    assert turn.asked is not None
    assert not any(meaning["kind"] == "attend" for meaning, _ in turn.asked.believed)


@pytest.mark.parametrize(
    ("rivals", "reply"),
    [
        (
            ("bottle two reads sixteen hundred", "bottle two reads eighteen hundred"),
            f"Bottle two, sixteen hundred, or eighteen hundred?{FIRST_OR_SECOND}",
        ),
        (
            ("patient two sats ninety four", "patient two sats eighty four"),
            f"Patient two, nine four percent, or eight four percent?{FIRST_OR_SECOND}",
        ),
        (
            ("patient two sats ninety four pulse eighty", "patient two sats ninety one pulse ninety"),
            "Patient two, saturation nine four percent; heart rate eight zero, yes or no?",
        ),
        (
            ("bottle one reads sixteen hundred", "bottle two reads eighteen hundred"),
            f"Bottle one, sixteen hundred, or bottle two, eighteen hundred?{FIRST_OR_SECOND}",
        ),
    ],
)
def test_a_question_says_whose_value_it_is_where_it_is_not_the_one_in_hand(
    setting: Setting, rivals: tuple[str, str], reply: str
) -> None:
    talk = Talk(setting, "gauge reads 1500", "bottle two reads 1900", "cannula at four", "patient two cannula at two")
    talk.types("changed to bottle one")
    talk.types("patient one")
    assert talk.hears(heard((rivals[0], 0.0), (rivals[1], 1.0))).reply == reply


def test_to_say_it_all_again_is_asked_in_the_same_words_again(setting: Setting) -> None:
    talk = Talk(setting)
    talk.hears(heard(*TWO_VALUES))
    talk.says("no")
    turn = talk.hears(heard(("how long have we got", 0.0), ("latest vitals", 0.0), ("what is next", 0.0)))
    assert (turn.outcome, turn.reply) == ("asked", "Not clear. Say it all again, please.")
    assert snapshot_question(talk) == "Say it all again, please."


def test_what_is_said_again_has_to_be_surer_before_anything_is_done_by_it(setting: Setting) -> None:
    """One voice in one place misleads the ears twice in the same way."""
    rather = heard(("how long have we got", 0.0), ("latest vitals", 1.0), lead_a_word=5.0)
    assert Talk(setting).hears(rather).outcome == "taken"
    talk = Talk(setting)
    talk.hears(heard(*TWO_VALUES))
    talk.says("no")
    assert talk.hears(rather).reply == "Not clear. Say it all again, please."


def test_the_screen_shows_all_that_a_yes_confirms(setting: Setting) -> None:
    talk = Talk(setting)
    talk.hears(heard(*TWO_VALUES))
    assert snapshot_question(talk) == "Saturation nine four percent; heart rate eight zero, yes or no?"


def snapshot_question(talk: Talk) -> str | None:
    shown = snapshot(talk.incident.state, talk.at_s, inf, talk.setting, None)["question"]
    assert shown is None or isinstance(shown, str)
    return shown
