"""Procedure files: the shipped ones load, and whatever cannot be followed is refused, naming file and line."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from assistant.incident.procedures import Procedure, ProcedureError, load_procedures

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

GOOD = """\
title = "Tea"
[[step]]
name = "kettle"
say = "Put the kettle on."
[[step]]
name = "hot"
say = "Is it hot?"
asks = "answer"
no_trouble = "cold"
[[step]]
name = "pour"
say = "Pour."
"""
COLD = """\
title = "Cold"
trouble = true
[[step]]
name = "wait"
say = "Wait."
"""

CASES = Path(__file__).parents[2] / "conversations" / "procedures" / "bad_files.toml"
WRONG = tomllib.loads(CASES.read_text(encoding="utf-8"))["wrong"]


@pytest.mark.parametrize("case", WRONG, ids=[case["name"] for case in WRONG])
def test_a_file_that_cannot_be_followed_names_file_and_line(case: dict[str, Any]) -> None:
    assert case["old"] in GOOD
    with pytest.raises(ProcedureError) as caught:
        load_procedures({"tea.toml": GOOD.replace(case["old"], case["new"]), "cold.toml": COLD})
    assert str(caught.value).startswith(f"tea.toml:{case['line']}: ")
    assert case["words"] in str(caught.value)


JUDGED = """\
title = "Gauge"
[[step]]
name = "gauge"
say = "What does the gauge read?"
asks = "gauge_reading"
[[step.judge]]
under = "200 psi"
refuse = true
say = "Refill it."
"""


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ('"200 psi"', '"200"', 7, '"under" has to be a number with psi or bar'),
        ('"200 psi"', '"6 L/min"', 7, '"under" has to be a number with psi or bar'),
        ('say = "Refill it."', "", 4, '"say" is missing'),
        ('say = "Refill it."', 'say = "Refill it."\nto = "gauge"', 8, "stays at the step"),
        ("refuse = true", "refuse = true\nelse = 1", 9, 'unknown key "else"'),
    ],
    ids=["no unit", "a flow for a pressure", "refusal without words", "refusal with a way on", "unknown key"],
)
def test_a_judgement_that_cannot_be_made_is_refused(old: str, new: str, line: int, words: str) -> None:
    with pytest.raises(ProcedureError) as caught:
        load_procedures({"gauge.toml": JUDGED.replace(old, new)})
    assert str(caught.value).startswith(f"gauge.toml:{line}: ")
    assert words in str(caught.value)


def test_trouble_paths_that_open_each_other_are_a_loop() -> None:
    hot = COLD.replace('say = "Wait."', 'say = "Wait?"\nasks = "answer"\nyes_trouble = "cold"')
    cold = COLD.replace('say = "Wait."', 'say = "Wait?"\nasks = "answer"\nyes_trouble = "hot"')
    with pytest.raises(ProcedureError, match=r"cold\.toml:4: .*a loop"):
        load_procedures({"cold.toml": cold, "hot.toml": hot})


def test_a_return_to_a_step_that_is_not_there_is_refused() -> None:
    with pytest.raises(ProcedureError, match=r'cold\.toml:1: "return_to" names no step: tea\.stove'):
        load_procedures(
            {"tea.toml": GOOD, "cold.toml": COLD.replace("[[step]]", '[return_to]\ntea = "stove"\n[[step]]')}
        )


def test_the_good_file_is_good() -> None:
    loaded = load_procedures({"tea.toml": GOOD, "cold.toml": COLD})
    assert list(loaded["tea"].steps) == ["kettle", "hot", "pour"]
    assert loaded["tea"].steps["hot"].no_trouble == "cold"


def test_every_procedure_the_work_needs_is_shipped(procedures: Mapping[str, Procedure]) -> None:
    main = {name for name, procedure in procedures.items() if not procedure.trouble}
    assert main == {"set_up", "cylinder_change", "device_change", "take_apart", "readiness_check"}
    trouble = {name for name, procedure in procedures.items() if procedure.trouble}
    # The contract's `problem` values, and the one beyond it.
    assert trouble == {
        "hissing", "no_flow", "regulator_loose", "washer_missing", "valve_stuck", "reservoir_collapses",
        "patient_unresponsive",
    }  # fmt: skip


def test_no_shipped_prompt_is_longer_than_twelve_words(procedures: Mapping[str, Procedure]) -> None:
    spoken = [
        words
        for procedure in procedures.values()
        for step in procedure.steps.values()
        for words in (step.say, step.caution, step.must, procedure.ended, *(w for j in step.judge for w in j.say))
    ]
    assert len(spoken) > 400
    assert max(len(words.split()) for words in spoken) <= 12


def test_a_step_can_be_named_by_what_it_is_called(procedures: Mapping[str, Procedure]) -> None:
    set_up = procedures["set_up"]
    assert set_up.place_called("regulator") == "line_up"
    assert set_up.place_called("leak check") == "listen"
    assert set_up.place_called("the moon") is None
