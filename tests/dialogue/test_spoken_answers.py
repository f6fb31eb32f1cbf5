"""The same by voice: every way to answer a choice and to take a value back, spoken by the assistant's own voice."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.dialogue.turn import Setting, Turn, take_turn
from assistant.hearing import Recogniser, open_recogniser, read_wav
from assistant.hearing.errors import ModelMissingError
from assistant.hearing.find_model import vosk_model
from assistant.incident import events as ev
from assistant.incident.log import Incident
from assistant.meaning.typed import typed
from assistant.speaking.mouth import VoiceSettings, open_mouth

pytestmark = [pytest.mark.vosk, pytest.mark.slow]

CHOICES = tuple(
    {"kind": "gauge_reading", "cylinder": "1", "pressure": {"value": psi, "unit": "psi"}} for psi in (1600, 1800)
)
Say = Callable[[Incident, float, str], Turn]


@pytest.fixture(scope="module")
def ears(setting: Setting) -> Recogniser:
    try:
        model = vosk_model(None)
    except ModelMissingError as missing:
        pytest.skip(str(missing))
    return open_recogniser("vosk", setting.grammar, model=model)


@pytest.fixture
def say(setting: Setting, ears: Recogniser, tmp_path: Path) -> Say:
    mouth = open_mouth(VoiceSettings(rate_words_per_min=130), notice=lambda line: None)

    def said(incident: Incident, at_s: float, text: str) -> Turn:
        mouth.save(text, tmp_path / "said.wav")
        turn = take_turn(incident, ears.hear(read_wav(tmp_path / "said.wav")), at_s, setting)
        incident.append(turn.events)
        return turn

    return said


def begun(setting: Setting, *lines: str) -> Incident:
    incident = Incident(setting.kit)
    for at_s, line in enumerate(lines):
        incident.append(take_turn(incident, typed(line, setting.grammar), float(at_s), setting).events)
    return incident


@pytest.mark.parametrize(
    ("answer", "psi"),
    [
        ("yes", 1600), ("the first one", 1600), ("the second one", 1800), ("eighteen hundred", 1800),
        ("sixteen hundred", 1600), ("gauge reads seventeen hundred", 1700), ("no", None),
    ],
)  # fmt: skip
def test_a_choice_is_answered_by_voice(setting: Setting, say: Say, answer: str, psi: float | None) -> None:
    incident = begun(setting)
    incident.append((ev.QuestionAsked(at_s=1.0, about="gauge_reading", choices=CHOICES),))
    turn = say(incident, 5.0, answer)
    assert incident.state.cylinders["1"].value == psi, turn.reply
    assert turn.outcome == ("asked" if psi is None else "taken")


@pytest.mark.parametrize(
    ("says", "psi", "flow"),
    [
        ("correction, flow ten litres", 1500, 10), ("cancel that", 1500, None), ("undo", 1500, None),
        ("no", 1500, None), ("no, flow ten litres", 1500, 10), ("the one before was wrong", None, 4),
    ],
)  # fmt: skip
def test_a_value_is_taken_back_by_voice(
    setting: Setting, say: Say, says: str, psi: float | None, flow: float | None
) -> None:
    incident = begun(setting, "small cylinder", "gauge reads 1500", "4 litres")
    turn = say(incident, 20.0, says)
    found = (incident.state.cylinders["1"].value, incident.state.patients["1"].flow_l_min)
    assert found == (psi, flow), f"{turn.heard}: {turn.reply}"


def test_say_again_by_voice(setting: Setting, say: Say) -> None:
    assert say(begun(setting, "gauge reads 1500"), 20.0, "say again").reply == "Bottle one, fifteen hundred."


def test_a_bare_number_answers_a_question_by_voice(setting: Setting, say: Say) -> None:
    incident = begun(setting, "small cylinder", "15 litres")
    assert incident.state.question is not None
    assert incident.state.question.about == "gauge_reading"
    assert say(incident, 20.0, "one five zero zero").outcome == "taken"
    assert incident.state.cylinders["1"].value == 1500
