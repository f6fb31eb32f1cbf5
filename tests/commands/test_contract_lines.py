"""The commands as other programs use them: JSON lines, error lines and exit statuses of the contract."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest

from assistant.cli import main


def lines_of(capsys: pytest.CaptureFixture[str]) -> list[dict[str, Any]]:
    return [json.loads(line) for line in capsys.readouterr().out.splitlines()]


def asked(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    assert main(["ask", "--json", *words]) == 0
    return next(line for line in lines_of(capsys) if line["type"] == "turn")


def replayed(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *given: str
) -> tuple[int, list[dict[str, Any]]]:
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(given)))
    status = main(["replay", "--json", "-"])
    return status, lines_of(capsys)


def test_the_contracts_first_example(capsys: pytest.CaptureFixture[str]) -> None:
    turn = asked(capsys, "bottle reads 1500, small cylinder, 15 litres")
    assert turn["heard"] == "bottle reads fifteen hundred small cylinder fifteen litres"
    assert turn["outcome"] == "taken"
    assert turn["understood"] == [
        {"kind": "gauge_reading", "cylinder": "1", "pressure": {"value": 1500, "unit": "psi"}},
        {"kind": "cylinder_size", "cylinder": "1", "size": "D"},
        {"kind": "flow_rate", "flow": {"value": 15, "unit": "L/min"}, "patient": "1"},
    ]
    supply = turn["supply"][0]
    assert (supply["cylinder"], supply["patient"]) == ("1", "1")
    # 0.16 L/psi, reserve 200 psi: (1500 - 200) x 0.16 / 15 = 13.87 (Virginia 12VAC5-31-860 factor and residual).
    assert supply["minutes_to_reserve"] == pytest.approx(13.87, abs=0.01)
    assert supply["low"] < supply["minutes_to_reserve"] < supply["high"]
    assert supply["pressure"] == {"value": 1500, "unit": "psi"}
    assert supply["flow"] == {"value": 15, "unit": "L/min"}
    assert turn["asked"] is None
    assert "thirteen minutes" in turn["reply"]


# One sentence for each kind of the contract, with the fields that it must give.
KINDS: list[tuple[str, dict[str, Any]]] = [
    ("gauge reads 140 bar", {"kind": "gauge_reading", "pressure": {"value": 140, "unit": "bar"}}),
    ("large cylinder", {"kind": "cylinder_size", "cylinder": "1", "size": "E"}),
    ("changed to cylinder two", {"kind": "cylinder_change", "cylinder": "2"}),
    ("half a litre", {"kind": "flow_rate", "flow": {"value": 0.5, "unit": "L/min"}}),
    ("venturi mask 28 percent", {"kind": "delivery_device", "device": "venturi_mask", "oxygen_percent": 28}),
    ("sats 94", {"kind": "vital_sign", "sign": "oxygen_saturation", "value": 94}),
    ("responds to voice", {"kind": "vital_sign", "sign": "consciousness", "value": "V"}),
    ("boat in seventy minutes", {"kind": "time_to_handover", "minutes": 70}),
    ("target 88 to 92", {"kind": "target_saturation", "low": 88, "high": 92}),
    ("altitude 2400 metres", {"kind": "altitude", "metres": 2400}),
    ("minus 5 degrees", {"kind": "temperature", "celsius": -5}),
    ("how long have we got", {"kind": "question", "about": "time_remaining"}),
    ("what can i say", {"kind": "question", "about": "what_can_i_say"}),
    ("start set-up", {"kind": "step", "move": "start", "procedure": "set_up"}),
    ("it's hissing", {"kind": "problem", "what": "hissing"}),
    ("alarm heard", {"kind": "alarm_heard"}),
    ("note: soot around the mouth", {"kind": "note", "text": "soot around the mouth"}),
]


@pytest.mark.parametrize(("sentence", "expected"), KINDS, ids=[k["kind"] + ": " + s for s, k in KINDS])
def test_every_kind_is_understood(capsys: pytest.CaptureFixture[str], sentence: str, expected: dict[str, Any]) -> None:
    understood = asked(capsys, sentence)["understood"]
    assert len(understood) == 1
    assert expected.items() <= understood[0].items()


def test_a_correction_is_followed_by_the_corrected_meaning(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    status, lines = replayed(
        capsys,
        monkeypatch,
        '{"at_s": 0, "text": "gauge reads 1500"}',
        '{"at_s": 4, "text": "correction 1600"}',
    )
    assert status == 0
    assert [m["kind"] for m in lines[-1]["understood"]] == ["correction", "gauge_reading"]
    assert lines[-1]["understood"][1]["pressure"] == {"value": 1600, "unit": "psi"}


def test_bad_lines_are_told_and_the_rest_runs(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    status, lines = replayed(
        capsys,
        monkeypatch,
        "this is not JSON",
        '{"at_s": 10, "text": "gauge reads 1500"}',
        '{"at_s": 5, "text": "15 litres"}',
        '{"at_s": "soon", "text": "15 litres"}',
        '{"at_s": 11, "text": 15}',
        '{"at_s": 12, "wav": "no such file.wav"}',
        '["at_s", 13]',
        '{"at_s": 14, "text": "small cylinder"}',
    )
    assert status == 2
    assert [line["line"] for line in lines if line["type"] == "error"] == [1, 3, 4, 5, 6, 7]
    turns = [line for line in lines if line["type"] == "turn"]
    assert [turn["understood"][0]["kind"] for turn in turns] == ["gauge_reading", "cylinder_size"]


@pytest.mark.parametrize(
    "sentence",
    ["gauge reads minus 50", "gauge reads 9000", "sats 140", "99 litres"],
)
def test_the_impossible_is_refused_with_a_reason_and_changes_nothing(
    capsys: pytest.CaptureFixture[str], sentence: str
) -> None:
    turn = asked(capsys, f"small cylinder, {sentence}")
    assert turn["outcome"] == "refused"
    assert turn["reply"].endswith("Nothing taken. Say it again.")
    assert turn["supply"] == [] or turn["supply"][0]["pressure"] is None


def test_a_number_alone_is_asked_about(capsys: pytest.CaptureFixture[str]) -> None:
    turn = asked(capsys, "17")
    assert turn["outcome"] == "asked"
    assert turn["asked"]["choices"] == []


def test_other_peoples_talk_is_ignored(capsys: pytest.CaptureFixture[str]) -> None:
    turn = asked(capsys, "the tide table says high water at ten to four")
    assert (turn["outcome"], turn["understood"], turn["reply"]) == ("ignored", [], "")


def test_a_kit_with_a_misspelt_key_is_one_clear_line(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    kit = tmp_path / "kit.toml"
    kit.write_text('pressure_unit = "psi"\nresrve = "200 psi"\n', encoding="utf-8")
    assert main(["ask", "--kit", str(kit), "sats 94"]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("\n") == 1
    assert "line 2" in printed.err
    assert "reserve" in printed.err


def test_a_missing_file_is_one_clear_line(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main(["replay", str(tmp_path / "nothing.jsonl")]) == 2
    assert capsys.readouterr().err.count("\n") == 1
