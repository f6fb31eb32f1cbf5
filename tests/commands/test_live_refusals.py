"""What the live commands refuse is one clear line and status 2, and leaves no record behind."""

from __future__ import annotations

import socket
from pathlib import Path

import pytest

from assistant.cli import main


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(list(arguments)) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert len(shown.err.splitlines()) == 1
    return shown.err


def test_a_port_that_is_taken(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        line = refused(capsys, "serve", "--port", port, "--record", str(tmp_path))
    assert f"port {port}" in line
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["serve", "--host", "no.such.host.invalid"], "cannot be served on"),
        (["serve", "--port", "99999"], "cannot be served on"),
        (["serve", "--token", "short"], "at least 8 characters"),
        (["serve", "--certificate", "none.pem"], "there is no such file"),
        (["chat", "--settings", "none.toml"], "there is no such file"),
        (["chat", "--kit", "none.toml"], "cannot be read"),
    ],
)
def test_what_cannot_be_used(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], said: str
) -> None:
    assert said in refused(capsys, *arguments, "--record", str(tmp_path))
    assert list(tmp_path.iterdir()) == []


def test_a_settings_file_with_a_slip(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "settings.toml"
    file.write_text("voice_volum = 1\n", encoding="utf-8")
    assert "the nearest is voice_volume" in refused(capsys, "chat", "--settings", str(file))
