"""`plan --have`: the order to use cylinders in, the first change, what would last, and sharing among patients."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

import pytest

from assistant.cli import main

TWO = ("--have", "small 1500", "--have", "large 1800")


def told(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(["plan", *arguments]) == 0
    return " ".join(capsys.readouterr().out.split())


def as_json(capsys: pytest.CaptureFixture[str], arguments: Sequence[str]) -> dict[str, Any]:
    assert main(["plan", *arguments, "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def test_two_bottles_that_do_not_last_say_so_and_what_would(capsys: pytest.CaptureFixture[str]) -> None:
    """0.16 and 0.28 L/psi: 208 and 448 L to the reserve; at 10 L/min the printed rule gives 65 min, real gas less."""
    said = told(capsys, *TWO, "--flow", "10", "--hours", "1.2")
    assert "Lasts 61 min: not until then." in said
    assert "up to 6 L/min would last" in said
    assert said.index("large, 1800 psi") < said.index("small, 1500 psi")


def test_two_bottles_that_last_are_not_told_of_less(capsys: pytest.CaptureFixture[str]) -> None:
    said = told(capsys, *TWO, "--flow", "10", "--hours", "0.9")
    assert "not until then" not in said
    assert "would last" not in said


def test_the_first_change_is_begun_before_the_first_bottle_is_at_its_reserve(
    capsys: pytest.CaptureFixture[str],
) -> None:
    found = as_json(capsys, (*TWO, "--flow", "10", "--hours", "1"))
    first, second = found["course"]["stretches"]
    assert found["first_change_min"] + 2 <= first["to_min"] == second["from_min"]
    alone = as_json(capsys, (*TWO, "--flow", "4", "--hours", "0.5"))
    assert alone["first_change_min"] is None
    assert len(alone["course"]["stretches"]) == 1


def test_several_patients_share_the_set(capsys: pytest.CaptureFixture[str]) -> None:
    said = told(capsys, *TWO, "--have", "small 2000", "--flow", "6", "--hours", "1", "--patients", "2")
    assert "Patient 2: 2: large, 1800 psi" in said
    assert "Lasts all of them 69 min." in said


@pytest.mark.parametrize(
    ("have", "more", "why"),
    [
        ("tiny 1500", (), "the kit has small, large"),
        ("1500", (), "the kit has small, large"),
        ("small lots", (), "is no gauge reading"),
        ("small nan", (), "is no gauge reading"),
        ("small 9000", (), "no cylinder holds that"),
        ("small -5", (), "no cylinder holds that"),
        ("small 1500", ("--flow", "0"), "a flow above zero"),
        ("small 1500", ("--hours", "nan"), "minutes until hand-over"),
        ("small 1500", ("--patients", "0"), "1 to 20 patients"),
        ("small 1500", ("--patients", "1000000000"), "1 to 20 patients"),
    ],
)
def test_what_cannot_be_is_refused_in_a_line(
    capsys: pytest.CaptureFixture[str], have: str, more: tuple[str, ...], why: str
) -> None:
    assert main(["plan", "--have", have, "--flow", "10", "--hours", "1", *more]) == 2
    refused = capsys.readouterr().err
    assert why in refused
    assert refused.count("\n") == 1
