"""Every procedure by voice alone: recordings, the recogniser with the full grammar, and the whole conversation."""

from __future__ import annotations

import importlib.util
import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from assistant.app import Session, SetClock
from assistant.hearing.errors import ModelMissingError
from assistant.hearing.find_model import vosk_model
from assistant.incident.events import Event, ProcedureMoved
from assistant.incident.procedure_steps import Procedure
from assistant.incident.walk import step_in_hand
from assistant.meaning.typed import typed

pytestmark = [pytest.mark.vosk, pytest.mark.slow]
VOICED = Path(__file__).parents[2] / "benchmarks" / "procedures" / "voiced.py"
TAKES = range(4)
CONTROL_WORDS = (
    "done", "next", "back", "repeat", "say again", "stop", "yes", "no", "where was i", "how many more",
    "skip it already done", "start set up", "start the set up from the regulator", "start cylinder change",
    "start device change", "start taking apart", "start readiness check",
    "hissing", "no flow", "the regulator is loose", "the washer is missing", "the valve is stuck",
    "the bag is collapsing", "patient stopped breathing",
)  # fmt: skip


@pytest.fixture(scope="module")
def voiced() -> ModuleType:
    spec = importlib.util.spec_from_file_location("voiced", VOICED)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    # Dataclasses look their module up while it is being made.
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(__import__("sys").modules, "voiced", module)
        spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def ears(voiced: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Vosk with the shipped grammar; without its model tests fail in CI and skip elsewhere."""
    try:
        model = vosk_model(fetch=bool(os.environ.get("CI")))
    except ModelMissingError as missing:
        if os.environ.get("CI"):
            pytest.fail(f"no vosk model ({missing})")
        pytest.skip(f"no vosk model: set OXYGEN_ASSISTANT_MODEL to its folder ({missing})")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("OXYGEN_ASSISTANT_CACHE", str(tmp_path_factory.mktemp("cache")))
        yield voiced.Ears.opened("vosk", model)


def _moves(events: tuple[Event, ...]) -> list[tuple[str, str, str | None]]:
    return [(e.procedure, e.move, e.step) for e in events if isinstance(e, ProcedureMoved)]


@pytest.mark.parametrize("words", CONTROL_WORDS)
def test_each_control_word_is_recorded_in_four_voices_and_heard(voiced: ModuleType, ears: Any, words: str) -> None:
    files = voiced.recordings()[words]
    assert len({file.rsplit(".", 2)[1] for file in files}) >= 4
    for file in files:
        session = Session(voiced.setting(), SetClock(), voiced.Kept())
        spoken = session.hear(ears.hear(voiced.SAMPLES / file))
        fresh = Session(voiced.setting(), SetClock(), voiced.Kept())
        assert spoken.understood == fresh.hear(typed(words, voiced.setting().grammar)).understood, file


@pytest.mark.parametrize("take", TAKES)
@pytest.mark.parametrize("number", range(3))
def test_a_scripted_conversation_runs_to_its_end(voiced: ModuleType, ears: Any, number: int, take: int) -> None:
    """By voice it goes exactly the way it goes when typed."""
    conversation = voiced.conversations()[number]
    kept = voiced.Kept()
    session = voiced.played(conversation["lines"], take, ears, kept)
    assert conversation["ends"] in kept.said[-1]
    clock = SetClock()
    on_paper = Session(voiced.setting(), clock, voiced.Kept())
    for at_s, words in conversation["lines"]:
        clock.set(at_s)
        on_paper.hear(typed(words, voiced.setting().grammar))
    assert _moves(tuple(session.incident.events)) == _moves(tuple(on_paper.incident.events))


_STARTS = {
    "set_up": "start set up",
    "cylinder_change": "start cylinder change",
    "device_change": "start device change",
    "take_apart": "start taking apart",
    "readiness_check": "start readiness check",
    "hissing": "hissing",
    "no_flow": "no flow",
    "regulator_loose": "the regulator is loose",
    "washer_missing": "the washer is missing",
    "valve_stuck": "the valve is stuck",
    "reservoir_collapses": "the bag is collapsing",
    "patient_unresponsive": "patient stopped breathing",
}
_VALUES = {
    "gauge_reading": "gauge reads fifteen hundred",
    "flow_rate": "flow fifteen litres",
    "delivery_device": "non rebreather",
    "cylinder_size": "small cylinder",
}


@pytest.mark.parametrize("take", TAKES)
@pytest.mark.parametrize("name", _STARTS)
def test_every_procedure_is_completed_by_voice(
    voiced: ModuleType, ears: Any, procedures: Mapping[str, Procedure], name: str, take: int
) -> None:
    clock, kept = SetClock(), voiced.Kept()
    session = Session(voiced.setting(), clock, kept)
    session.hear(ears.hear(voiced.recording(_STARTS[name], take)))
    for _ in range(50):
        step = step_in_hand(procedures, session.state)
        if step is None:
            break
        clock.set(clock.now_s() + 40.0)
        session.pass_time()
        step = step_in_hand(procedures, session.state)
        assert step is not None
        good = step.usual or ("no" if step.yes_trouble else "yes")
        words = good if step.asks == "answer" else "done" if step.many else _VALUES.get(step.asks or "", "done")
        session.hear(ears.hear(voiced.recording(words, take)))
    assert session.state.procedure is None
    assert procedures[name].ended in kept.said[-1]
    # A word that was not clearly heard is asked for before an unsafe step: allowed once, and never refused or ignored.
    outcomes = [turn.outcome for turn in kept.turns]
    assert set(outcomes) <= {"taken", "asked"}, [(t.heard, t.reply) for t in kept.turns]
    assert outcomes.count("asked") <= 1, [(t.heard, t.reply) for t in kept.turns]
