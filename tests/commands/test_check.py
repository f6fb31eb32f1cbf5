"""`check` tries each part that the settings name: what does not work is named with what to do, and the status is 1."""

from __future__ import annotations

import json
import socket
from pathlib import Path
from typing import Any

import pytest

from assistant.cli import main
from assistant.commands.check_live import check_button, check_language, check_microphone, check_page, check_voice
from assistant.commands.finding import Finding
from assistant.commands.serve import PORT
from assistant.hearing import microphone as devices
from assistant.settings import Settings

PARTS = {"settings", "language", "kit", "ears", "call word", "voice", "microphone", "button", "page", "disk"}


def not_ready(finding: Finding, part: str, *said: str) -> None:
    assert finding.part == part
    assert not finding.ok
    assert finding.cure
    assert all(each in finding.found for each in said), finding.found


def test_a_language_that_is_not_there_and_one_that_is_broken(tmp_path: Path) -> None:
    not_ready(check_language(Settings(language=str(tmp_path / "none"))), "language", "none")
    (tmp_path / "main.jsgf").write_text("#JSGF V1.0;\ngrammar main;\npublic <main> = <missing>;\n", encoding="utf-8")
    not_ready(check_language(Settings(language=str(tmp_path))), "language", "root rule")


def test_the_language_that_comes_with_the_program() -> None:
    finding = check_language(Settings())
    assert finding.ok
    assert "words" in finding.found


def test_a_voice_that_is_not_there() -> None:
    not_ready(check_voice(Settings(voice_name="klingon")), "voice")


def test_a_microphone_that_is_not_there(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(self: Any) -> None:
        raise devices.MicrophoneError("there is no microphone called 'desk'")

    monkeypatch.setattr(devices.Microphone, "open", missing)
    not_ready(check_microphone(Settings(microphone="desk")), "microphone", "desk")


def test_a_button_that_is_not_there() -> None:
    not_ready(check_button(Settings(button="no such pedal")), "button", "no such pedal")


def test_a_port_that_is_taken() -> None:
    with socket.socket() as taken:
        try:
            taken.bind(("127.0.0.1", PORT))
            taken.listen()
        except OSError:
            pass  # taken by something else already: that does as well
        not_ready(check_page(), "page", str(PORT))


@pytest.mark.vosk
@pytest.mark.slow
def test_every_part_is_told_of_and_what_is_wrong_sets_the_status(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "settings.toml"
    file.write_text('language = "folder/none"\nbutton = "no such pedal"\nkit = "none.toml"\n', encoding="utf-8")
    assert main(["check", "--json", "--settings", str(file)]) == 1
    told = {line["part"]: line for line in map(json.loads, capsys.readouterr().out.splitlines())}
    assert set(told) == PARTS
    assert told["settings"]["ok"]
    for part in ("language", "button", "kit"):
        assert not told[part]["ok"]
        assert told[part]["cure"]
    assert all(line["ok"] or line["cure"] for line in told.values())
