"""Every procedure is completed by control words alone, whatever is answered on the way, with every kit and device."""

from __future__ import annotations

import random
import sys
from collections.abc import Callable, Mapping
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from assistant.incident.procedure_steps import Procedure, ProcedureStep
from assistant.incident.walk import step_in_hand
from assistant.meaning.kinds import DEVICES

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

Made = Callable[..., Any]
FITTINGS, VALVES = ("yoke", "threaded", "integrated"), ("key", "lever", "handwheel")
MAIN = ("set_up", "cylinder_change", "device_change", "take_apart", "readiness_check")
TROUBLES = (
    "hissing", "no_flow", "regulator_loose", "washer_missing", "valve_stuck", "reservoir_collapses",
    "patient_unresponsive",
)  # fmt: skip


@pytest.mark.parametrize("name", MAIN + TROUBLES)
@pytest.mark.parametrize("fitting", FITTINGS)
@pytest.mark.parametrize("valve", VALVES)
def test_all_well_leads_to_the_end(rescuer: Made, name: str, fitting: str, valve: str) -> None:
    one = rescuer("device non_rebreather, size D", f"start {name}", fitting=fitting, valve=valve).finishes()
    assert one.place is None
    assert one.move.say[-1] == one.procedures[name].ended
    assert [e.move for e in one.events if e.kind == "procedure_moved"][-1] == "finished"


def _wild(step: ProcedureStep, rng: random.Random) -> str:
    """Anything a rescuer may well say at this step, good or bad."""
    match step.asks:
        case "answer":
            return rng.choice(("yes", "no"))
        case "gauge_reading":
            return rng.choice(("gauge 1900", "gauge 700", "gauge 150", "gauge 50", "gauge 130 bar", "done"))
        case "flow_rate":
            return rng.choice(("flow 10", "flow 2", "flow 0", "flow 15"))
        case "delivery_device":
            return f"device {rng.choice(DEVICES)}"
        case "cylinder_size":
            return "size D"
        case _:
            return rng.choice(("done",) * 8 + ("next", "skip not needed", "back", "repeat", "where", "left"))


@pytest.mark.parametrize("seed", range(40))
def test_no_answer_leads_into_a_corner(rescuer: Made, seed: int) -> None:
    """Sixty wild turns with trouble strewn in, then all well: the end is always reached, and every turn says a word."""
    rng = random.Random(seed)
    one = rescuer(fitting=rng.choice(FITTINGS), valve=rng.choice(VALVES))
    one.says(f"start {rng.choice(MAIN)}")
    for _ in range(60):
        here = step_in_hand(one.procedures, one.state)
        if here is None:
            return
        line = f"problem {rng.choice(TROUBLES)}" if rng.random() < 0.05 else _wild(here, rng)
        one.says(line, after_s=rng.choice((2.0, 40.0)))
        assert one.said, f"silence after {line} at {here.name}"
        assert one.state.procedure is None or len(one.state.procedure.returns) <= 8
    one.finishes()


def _seen(made: Made, procedures: Mapping[str, Procedure]) -> tuple[set[tuple[str, str]], set[str]]:
    steps: set[tuple[str, str]] = set()
    words: set[str] = set()
    for number, (name, seed) in enumerate(product(procedures, range(40))):
        rng = random.Random(number)
        device = rng.choice((*DEVICES, None))
        one = made(fitting=rng.choice(FITTINGS), valve=rng.choice(VALVES))
        one.says(f"device {device}, flow 10" if device and seed % 2 else "flow 10" if seed % 3 else "where")
        one.says(f"start {name}")
        for _ in range(80):
            here = step_in_hand(procedures, one.state)
            if here is None:
                break
            steps.add(one.place)
            one.says(_wild(here, rng), after_s=40.0)
            words.update(one.move.say if one.move else ())
    return steps, words


def test_every_step_and_every_judgement_is_met(rescuer: Made, procedures: Mapping[str, Procedure]) -> None:
    """No step is there that no kit, device or answer ever leads to, and no refusal that is never spoken."""
    steps, words = _seen(rescuer, procedures)
    wanted = {(p.name, s) for p in procedures.values() for s in p.steps}
    assert wanted - steps == set()
    judged = {w for p in procedures.values() for s in p.steps.values() for j in s.judge for w in j.say}
    assert judged - words == set()


@pytest.mark.parametrize(
    ("procedure", "step", "answer", "trouble"),
    [
        ("set_up", "washer", "no", "washer_missing"),
        ("set_up", "leak", "yes", "hissing"),
        ("set_up", "gas", "no", "no_flow"),
        ("set_up", "bag_stays", "no", "reservoir_collapses"),
        ("cylinder_change", "washer", "no", "washer_missing"),
        ("cylinder_change", "leak", "yes", "hissing"),
        ("cylinder_change", "gas", "no", "no_flow"),
        ("device_change", "gas", "no", "no_flow"),
        ("device_change", "bag_stays", "no", "reservoir_collapses"),
        ("readiness_check", "washer", "no", "washer_missing"),
        ("readiness_check", "quiet", "yes", "hissing"),
        ("readiness_check", "held", "no", "hissing"),
        ("readiness_check", "flow", "no", "no_flow"),
    ],
)
def test_a_bad_answer_opens_its_trouble_path_and_comes_back(
    rescuer: Made, procedure: str, step: str, answer: str, trouble: str
) -> None:
    one = rescuer(f"start {procedure}").goes_to(step)
    one.says(answer)
    assert one.place[0] == trouble
    assert [e.what for e in one.events if e.kind == "problem_reported"] == [trouble]
    while one.place[0] == trouble:
        here = step_in_hand(one.procedures, one.state)
        one.says(here.usual or {"flow_rate": "flow 10"}.get(here.asks or "", "done"), after_s=40.0)
    assert one.place == (procedure, step)
    assert f"Back to {one.procedures[procedure].title}." in one.move.say


CASES = Path(__file__).parents[2] / "conversations" / "procedures" / "trouble_ways.toml"
WAYS = tomllib.loads(CASES.read_text(encoding="utf-8"))["way"]


@pytest.mark.parametrize("way", WAYS, ids=[f"{w['path']}: {w['said']}" for w in WAYS])
def test_each_way_through_a_trouble_path(rescuer: Made, way: dict[str, Any]) -> None:
    one = rescuer(f"problem {way['path']}", **way.get("kit", {}))
    steps = []
    for line in way["said"].split():
        assert one.place is not None, f"over before {line}"
        steps.append(one.step)
        one.says(line.replace(":", " "))
    assert " ".join(steps) == way["met"]
    assert one.place is None
    assert one.move.say[-1] == one.procedures[way["path"]].ended


@pytest.mark.parametrize("path", ["hissing", "regulator_loose", "washer_missing"])
def test_oxygen_that_flowed_before_the_trouble_flows_again_after_it(rescuer: Made, path: str) -> None:
    one = rescuer("device non_rebreather, flow 10, gauge 1900, size D", f"problem {path}")
    one.says("done")
    assert one.state.patients["1"].flow_l_min == 0.0, "with the valve shut nothing is used"
    assert one.step == "mask_off"
    one.finishes(still="no")
    assert one.state.patients["1"].flow_l_min == 10.0
    assert "Put the oxygen back on the patient." in _all_said(one)


def _all_said(one: Any) -> str:
    moves = [e for e in one.events if e.kind == "procedure_moved" and e.step]
    return " ".join(one.procedures[e.procedure].steps[e.step].say for e in moves)


def test_the_first_words_in_trouble_are_the_first_safe_action(rescuer: Made) -> None:
    first = {name: rescuer("device non_rebreather", f"problem {name}").said for name in TROUBLES}
    assert first == {
        "hissing": "Shut the valve now. Keep flames and sparks away.",
        "no_flow": "Lift the mask off the face until gas flows.",
        "regulator_loose": "Shut the valve. Do not tighten it under pressure.",
        "washer_missing": "Keep the valve shut. Nothing opens without a washer.",
        "valve_stuck": "Do not force it. No pliers, no oil.",
        "reservoir_collapses": "Turn the flow up. How many litres now?",
        "patient_unresponsive": "This is beyond me. Leave me: follow your training now.",
    }
