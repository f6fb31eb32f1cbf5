"""Sentences that the language of the assistant lacks, recorded: heard by both models, their values are asked for."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from assistant.app import setting_for
from assistant.dialogue.turn import take_turn
from assistant.hearing import open_recogniser, read_wav
from assistant.hearing.errors import ModelMissingError
from assistant.hearing.rating.ears import rated_where_possible
from assistant.hearing.rating.model import model_folder
from assistant.hearing.recogniser import Recogniser
from assistant.incident.log import Incident
from assistant.meaning.typed import typed
from assistant.meaning.understand import understand
from assistant.oxygen.kit import default_kit

FOLDER = Path(__file__).parents[3] / "audio_samples" / "own_words"
ROWS = [json.loads(line) for line in (FOLDER / "own_words.jsonl").read_text(encoding="utf-8").splitlines()]
SETTING = setting_for(default_kit())

pytestmark = pytest.mark.vosk


@pytest.fixture(scope="module")
def ears() -> Recogniser:
    if model_folder() is None:
        pytest.skip("the rating model's package has no wheel for this machine")
    try:
        return rated_where_possible(open_recogniser("vosk", SETTING.grammar))
    except ModelMissingError as error:
        pytest.skip(str(error))


def running() -> Incident:
    incident = Incident(SETTING.kit)
    for at, line in enumerate(("gauge reads 1100", "small cylinder", "cannula at 4")):
        incident.append(take_turn(incident, typed(line, SETTING.grammar), 10.0 * at, SETTING).events)
    return incident


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["words"][:30])
def test_the_values_are_asked_for_and_a_yes_takes_them(row: dict[str, Any], ears: Recogniser) -> None:
    incident = running()
    before = incident.state
    turn = take_turn(incident, ears.hear(read_wav(FOLDER / row["file"])), 60.0, SETTING)
    assert turn.outcome == ("asked" if row["asked"] else "ignored")
    asked = [] if turn.asked is None else [*turn.asked.choices, *turn.asked.rest]
    assert asked == row["asked"]
    incident.append(turn.events)
    assert (incident.state.cylinders, incident.state.patients) == (before.cylinders, before.patients)
    if asked:
        assert take_turn(incident, typed("yes", SETTING.grammar), 64.0, SETTING).outcome == "taken"


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["words"][:30])
def test_the_grammar_has_no_such_sentence(row: dict[str, Any]) -> None:
    assert understand(typed(row["words"], SETTING.grammar), SETTING.grammar, SETTING.kit) == ()
