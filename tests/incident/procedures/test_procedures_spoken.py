"""What procedures ask people to say can be said, and the places that can be said are there."""

from __future__ import annotations

import re
from collections.abc import Mapping

import pytest

from assistant import shelf
from assistant.app import setting_for
from assistant.dialogue.turn import Setting
from assistant.incident.procedure_steps import Procedure
from assistant.incident.step_moves import REASONS
from assistant.meaning.kinds import Meaning, Step
from assistant.meaning.typed import typed
from assistant.meaning.understand import understand
from assistant.oxygen.kit import default_kit


@pytest.fixture(scope="module")
def setting() -> Setting:
    return setting_for(default_kit())


def _understood(setting: Setting, words: str) -> tuple[Meaning, ...]:
    readings = understand(typed(words, setting.grammar), setting.grammar, setting.kit)
    return readings[0].meanings if readings else ()


def _spoken(procedures: Mapping[str, Procedure]) -> list[str]:
    steps = [step for procedure in procedures.values() for step in procedure.steps.values()]
    return [words for step in steps for words in (step.say, *(w for j in step.judge for w in j.say))]


def test_what_a_prompt_says_to_say_is_understood(setting: Setting, procedures: Mapping[str, Procedure]) -> None:
    wanted = {found for words in _spoken(procedures) for found in re.findall(r"start [a-z]+ change", words)}
    assert wanted == {"start bottle change", "start device change"}
    for words in wanted:
        (meaning,) = _understood(setting, words)
        assert isinstance(meaning, Step)
        assert meaning.procedure in procedures


@pytest.mark.parametrize("name", ["set_up", "cylinder_change", "device_change", "take_apart", "readiness_check"])
def test_every_procedure_can_be_started_by_its_title(
    setting: Setting, procedures: Mapping[str, Procedure], name: str
) -> None:
    (meaning,) = _understood(setting, f"start {procedures[name].title}")
    assert isinstance(meaning, Step)
    assert meaning.move == "start"


def test_every_place_that_can_be_named_is_a_step_of_the_set_up(procedures: Mapping[str, Procedure]) -> None:
    rule = re.search(r"<step_place> = ([^;]+);", shelf.grammar_texts()["steps.jsgf"])
    assert rule is not None
    places = [place.strip() for place in rule[1].split("|")]
    assert len(places) > 10
    assert [place for place in places if procedures["set_up"].place_called(place) is None] == []


@pytest.mark.parametrize("reason", REASONS)
def test_every_reason_offered_for_a_skip_is_understood(setting: Setting, reason: str) -> None:
    assert _understood(setting, f"skip it {reason}") == (Step(move="skip", reason=reason),)
