"""Heard utterances with rivals: what is taken, what is asked, what is left alone, and every way to answer."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.dialogue.asking import FIRST_OR_SECOND
from assistant.dialogue.turn import Setting, Turn
from assistant.incident import events as ev
from assistant.meaning import kinds as k
from assistant.meaning.contract import to_json
from assistant.utterance import Hypothesis, Utterance
from tests.dialogue.talking import Talk as TypedTalk

# What quiet speech has: a second of it is worth about ninety nats, a word of the grammar leads the background by ten.
PER_S, LEAD_A_WORD = 90.0, 10.0


def heard(*rivals: tuple[str, float], lead_a_word: float = LEAD_A_WORD) -> Utterance:
    """A second of speech with these hypotheses, each with how far it is behind the best."""
    hypotheses = tuple(Hypothesis(words=tuple(t.split()), log_likelihood=PER_S - behind) for t, behind in rivals)
    words = len(hypotheses[0].words)
    behind = Hypothesis(words=("the",), log_likelihood=PER_S - lead_a_word * words)
    return Utterance(hypotheses=hypotheses, background=behind, seconds=1.0, engine="vosk")


class Talk(TypedTalk):
    def says(self, text: str) -> Turn:
        return self.hears(heard((text, 0.0)))


TWO_GAUGES = (("gauge reads sixteen hundred", 0.0), ("gauge reads eighteen hundred", 0.3))


def test_what_clearly_leads_is_taken(setting: Setting) -> None:
    talk = Talk(setting)
    turn = talk.hears(heard(("gauge reads sixteen hundred", 0.0), ("gauge reads eighteen hundred", 9.0)))
    assert (turn.outcome, talk.psi) == ("taken", 1600)


def test_two_values_as_good_are_asked_for_and_neither_is_taken(setting: Setting) -> None:
    talk = Talk(setting)
    turn = talk.hears(heard(*TWO_GAUGES))
    assert (turn.outcome, turn.reply) == (
        "asked",
        f"Sixteen hundred, or eighteen hundred?{FIRST_OR_SECOND}",
    )
    assert talk.psi is None


@pytest.mark.parametrize(
    ("answer", "psi"),
    [
        ("yes", 1600), ("first", 1600), ("the second one", 1800), ("sixteen hundred", 1600),
        ("eighteen hundred", 1800), ("one eight zero zero", 1800), ("gauge reads eighteen hundred", 1800),
        ("seventeen hundred", 1700), ("no seventeen hundred", 1700),
    ],
)  # fmt: skip
def test_a_choice_is_answered_in_any_of_these_ways(setting: Setting, answer: str, psi: float) -> None:
    talk = Talk(setting)
    talk.hears(heard(*TWO_GAUGES))
    assert (talk.says(answer).outcome, talk.psi) == ("taken", psi)
    assert talk.incident.state.question is None or not talk.incident.state.question.choices


def test_no_takes_neither_and_asks_for_the_value(setting: Setting) -> None:
    talk = Talk(setting)
    talk.hears(heard(*TWO_GAUGES))
    turn = talk.says("no")
    assert (turn.outcome, turn.reply, talk.psi) == ("asked", "What does the gauge read?", None)
    assert (talk.says("fifteen hundred").outcome, talk.psi) == ("taken", 1500)


def test_only_the_value_that_differs_is_asked_and_the_rest_waits(setting: Setting) -> None:
    talk = Talk(setting)
    turn = talk.hears(
        heard(
            ("gauge reads sixteen hundred small cylinder fifteen litres", 0.0),
            ("gauge reads eighteen hundred small cylinder fifteen litres", 0.3),
        )
    )
    assert (turn.outcome, turn.reply) == (
        "asked",
        f"Sixteen hundred, or eighteen hundred?{FIRST_OR_SECOND}",
    )
    talk.says("second")
    state = talk.incident.state
    assert (talk.psi, state.cylinders["1"].size, state.patients["1"].flow_l_min) == (1800, "D", 15)


def test_two_uncertain_values_are_to_be_said_again(setting: Setting) -> None:
    turn = Talk(setting).hears(
        heard(
            ("pulse sixty sats ninety three", 0.0),
            ("pulse fifty sats ninety four", 0.1),
            ("pulse sixteen sats ninety five", 0.2),
        )
    )
    assert (turn.outcome, turn.reply) == ("asked", "Say it all again, please.")


def test_the_needle_decides_between_two_that_sound_alike(setting: Setting) -> None:
    talk = Talk(setting, "small cylinder, gauge reads 1700, flow 4 litres")
    turn = talk.hears(heard(("gauge reads nineteen hundred", 0.0), ("gauge reads sixteen hundred", 0.2)))
    found = turn.understood[0]
    assert isinstance(found, k.GaugeReading)
    assert found.pressure.value == 1600


def test_talk_that_fits_the_background_as_well_is_left_alone(setting: Setting) -> None:
    talk = Talk(setting)
    turn = talk.hears(heard(("gauge reads sixteen hundred", 0.0), lead_a_word=-2.0))
    assert (turn.outcome, turn.reply, turn.events) == ("ignored", "", ())


def test_what_might_be_talk_is_taken_where_a_key_was_held(setting: Setting) -> None:
    doubtful = heard(("gauge reads sixteen hundred", 0.0), lead_a_word=2.5)
    assert Talk(setting).hears(doubtful).outcome != "taken"
    talk = Talk(setting)
    assert (talk.hears(replace(doubtful, addressed=True)).outcome, talk.psi) == ("taken", 1600)


def test_the_same_words_well_ahead_of_the_background_are_taken(setting: Setting) -> None:
    assert Talk(setting).says("gauge reads sixteen hundred").outcome == "taken"


def test_talk_is_heard_as_minutes_rather_than_as_a_vital_sign(setting: Setting) -> None:
    lead = 3.0
    assert Talk(setting).hears(heard(("sats ninety four now", 0.0), lead_a_word=lead)).outcome == "taken"
    assert Talk(setting).hears(heard(("boat in seventy minutes", 0.0), lead_a_word=lead)).outcome != "taken"


def test_a_bare_number_begun_anew_after_no_is_asked_for(setting: Setting) -> None:
    talk = Talk(setting, "small cylinder", "cannula at four")
    assert talk.incident.state.question is not None
    turn = talk.hears(heard(("sixty seven no ten", 0.0), lead_a_word=5.0))
    assert (turn.reply, talk.psi) == ("Gauge one zero, yes or no?", None)
    clear = Talk(setting, "small cylinder", "cannula at four").says("sixty seven no ten")
    assert clear.reply == "Gauge one zero, yes or no?"
    assert talk.hears(heard(("six hundred and ten", 0.0), lead_a_word=5.0)).outcome == "taken"
    assert Talk(setting).says("gauge reads fifteen no sixteen hundred").outcome == "taken"


def test_a_small_lead_is_enough_where_two_hearings_agree_and_not_where_they_differ(setting: Setting) -> None:
    """In noise: half the likelihood of quiet in a second, and a word leads the background by five."""
    rivals = ("gauge reads sixteen hundred", "gauge reads eighteen hundred")
    outcomes = {}
    for first_in in ((2, 0), (1, 1)):
        hypotheses = tuple(
            Hypothesis(words=tuple(text.split()), log_likelihood=50.0 - behind, first_in=first)
            for text, behind, first in zip(rivals, (0.0, 3.0), first_in, strict=True)
        )
        behind = Hypothesis(words=("the",), log_likelihood=30.0)
        utterance = Utterance(hypotheses=hypotheses, background=behind, seconds=1.0, engine="vosk")
        outcomes[first_in] = Talk(setting).hears(utterance).outcome
    assert outcomes == {(2, 0): "taken", (1, 1): "asked"}


def test_what_hardly_anybody_awake_has_is_asked_for(setting: Setting) -> None:
    talk = Talk(setting)
    turn = talk.says("pulse twenty two")
    assert (turn.outcome, turn.reply) == ("asked", "Heart rate two two, yes or no?")
    assert talk.says("yes").outcome == "taken"
    assert talk.incident.state.patients["1"].vitals["heart_rate"].value == 22


def test_a_move_that_has_nothing_to_move_is_no_answer_to_a_choice(setting: Setting) -> None:
    """ "Next" and "yes" sound alike; where one value is to be confirmed and no procedure runs, it was "yes"."""
    talk = Talk(setting)
    talk.hears(heard(*TWO_GAUGES))
    talk.hears(heard(("next", 0.0), ("yes", 1.0)))
    assert talk.psi == 1600


def test_an_unclear_answer_is_asked_for_twice_more_and_then_left(setting: Setting) -> None:
    talk = Talk(setting)
    talk.hears(heard(*TWO_GAUGES))
    unclear = heard(("yes", 0.0), ("no", 0.0))
    assert [talk.hears(unclear).outcome for _ in range(3)] == ["asked", "asked", "ignored"]
    question = talk.incident.state.question
    assert question is not None, "it stays, to be shown"
    assert question.tries == 3
    assert talk.psi is None


@pytest.mark.parametrize(
    ("says", "psi", "flow"),
    [
        ("correction flow ten litres", 1500, 10), ("no ten litres", 1500, 10), ("cancel that", 1500, None),
        ("undo", 1500, None), ("no", 1500, None), ("undo the one before", None, 4),
        ("the one before was wrong", None, 4),
    ],
)  # fmt: skip
def test_the_last_value_and_the_one_before_can_be_taken_back(
    setting: Setting, says: str, psi: float | None, flow: float | None
) -> None:
    talk = Talk(setting, "small cylinder", "gauge reads 1500", "4 litres")
    talk.says(says)
    assert (talk.psi, talk.incident.state.patients["1"].flow_l_min) == (psi, flow)


def test_what_was_corrected_stays_in_the_record(setting: Setting) -> None:
    talk = Talk(setting, "gauge reads 1500")
    before = len(talk.incident.events)
    talk.says("correction sixteen hundred")
    assert talk.psi == 1600
    assert {"Withdrawn", "GaugeRead"} <= {type(event).__name__ for event in talk.incident.events[before:]}
    assert any(getattr(event, "value", None) == 1500 for event in talk.incident.events[:before])


def test_say_again_repeats_the_last_reply(setting: Setting) -> None:
    talk = Talk(setting, "gauge reads 1500")
    assert talk.says("say again").reply == "Bottle one, fifteen hundred."


def test_the_question_carries_its_choices_as_the_contract_has_them(setting: Setting) -> None:
    asked = Talk(setting).hears(heard(*TWO_GAUGES)).asked
    assert asked is not None
    values = [choice["pressure"] for choice in asked.choices]
    assert (asked.about, values) == ("gauge_reading", [{"value": 1600, "unit": "psi"}, {"value": 1800, "unit": "psi"}])
    assert to_json(k.Answer(yes=True)) == {"kind": "answer", "yes": True}


def test_a_number_and_the_flow_that_it_would_be_are_not_offered_as_two(setting: Setting) -> None:
    talk = Talk(setting, "gauge reads 1500", "small cylinder", "cannula at four")
    talk.incident.append([ev.QuestionAsked(at_s=talk.at_s, about="flow_rate")])
    turn = talk.hears(heard(("three", 0.0), ("three litres", 0.4), ("five", 0.6)))
    assert (turn.outcome, turn.reply) == ("asked", "Flow three litres, yes or no?")
    assert turn.asked is not None
    assert [choice["flow"]["value"] for choice in turn.asked.choices] == [3]


def test_two_readings_of_one_value_are_told_apart_by_whose_it_is(setting: Setting) -> None:
    talk = Talk(setting, "gauge reads 1500", "small cylinder", "cannula at four")
    turn = talk.hears(heard(("cylinder four reads nine hundred", 0.0), ("cylinder one reads nine hundred", 0.3)))
    assert turn.reply == f"Bottle four, nine zero zero, or bottle one, nine zero zero?{FIRST_OR_SECOND}"
    talk = Talk(setting, "cannula at four", "patient two cannula at two")
    turn = talk.hears(heard(("patient one sats ninety", 0.0), ("patient two sats ninety", 0.3)))
    assert turn.reply == f"Patient one, nine zero percent, or patient two, nine zero percent?{FIRST_OR_SECOND}"


@pytest.mark.parametrize("spoken", [False, True])
def test_a_correction_is_of_the_value_just_taken_though_another_question_waits(setting: Setting, spoken: bool) -> None:
    talk = Talk(setting, "gauge reads 1500", "small cylinder", "cannula at four")
    talk.hears(heard(("boat in seventy minutes", 0.0), ("boat in seventeen minutes", 0.2)))
    talk.types("gauge reads 900")
    turn = talk.says("correction eight hundred") if spoken else talk.types("correction 800")
    assert (turn.outcome, talk.psi) == ("taken", 800)
    assert talk.incident.state.question is not None
    assert talk.incident.state.question.about == "time_to_handover"
    talk.types("seventy")
    assert talk.incident.state.handover_at_s == pytest.approx(talk.at_s + 70 * 60)
