"""What was heard before a question counts in its answer; a no out of noise takes nothing back."""

from assistant.dialogue.turn import Setting
from assistant.utterance import Hypothesis, Utterance
from tests.dialogue.talking import Talk


def heard(*rivals: tuple[str, float]) -> Utterance:
    hypotheses = tuple(Hypothesis(words=tuple(words.split()), log_likelihood=score) for words, score in rivals)
    return Utterance(hypotheses=hypotheses, seconds=1.0)


UNSURE = (("flow fifteen litres", 0.0), ("flow twelve litres", -2.6))


def test_the_answer_adds_to_what_was_heard_before(setting: Setting) -> None:
    talk = Talk(setting, every_s=5.0)
    first = talk.hears(heard(*UNSURE))
    assert first.outcome == "asked"
    believed = {meaning["flow"]["value"]: share for meaning, share in first.asked.believed}
    assert believed[15] > believed[12] > 0
    assert talk.hears(heard(("fifteen", 0.0), ("twelve", -2.6))).outcome == "taken"
    assert talk.incident.state.patients["1"].flow_l_min == 15


def test_an_answer_that_contradicts_is_asked_about_again(setting: Setting) -> None:
    talk = Talk(setting, every_s=5.0)
    talk.hears(heard(*UNSURE))
    turn = talk.hears(heard(("twelve", 0.0), ("fifteen", -1.8)))
    assert turn.outcome == "asked"
    assert not any(patient.flow_l_min for patient in talk.incident.state.patients.values())


def test_what_was_believed_is_on_record(setting: Setting) -> None:
    talk = Talk(setting, every_s=5.0)
    talk.hears(heard(*UNSURE))
    assert talk.incident.state.question is not None
    assert talk.incident.state.question.believed


def test_a_doubtful_no_takes_nothing_back(setting: Setting) -> None:
    talk = Talk(setting, every_s=5.0)
    talk.types("flow 15 litres")
    talk.types("bottle reads 1500 small cylinder")
    assert talk.incident.state.question is None
    turn = talk.hears(heard(("no", 0.0), ("now", -0.5), ("oh", -0.7)), after_s=120.0)
    assert turn.outcome != "taken"
    assert talk.incident.state.patients["1"].flow_l_min == 15
