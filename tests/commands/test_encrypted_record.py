"""A record that is encrypted with a passphrase: unreadable without it, reported and gone on with given it."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from assistant.cli import main

pytest.importorskip("cryptography", reason="encryption needs the extra: pip install '.[crypt]'")

INCIDENT = '{"at_s": 0, "text": "small cylinder, gauge reads 1500, 15 litres"}\n'


def recorded(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("OXYGEN_ASSISTANT_PASSPHRASE", "high water at noon")
    monkeypatch.setattr("sys.stdin", io.StringIO(INCIDENT))
    assert main(["replay", "--json", "--record", str(folder), "--locked", "-"]) == 0
    return next(folder.glob("*.sqlite"))


def test_nothing_of_it_is_in_clear(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = recorded(tmp_path, monkeypatch)
    content = b"".join(file.read_bytes() for file in tmp_path.iterdir())
    assert path.stat().st_mode & 0o777 == 0o600
    assert b"fifteen hundred" not in content
    assert b"gauge_read" not in content


def test_the_passphrase_opens_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = recorded(tmp_path, monkeypatch)
    capsys.readouterr()
    assert main(["report", "--locked", "--as", "markdown", str(path)]) == 0
    assert "1500 psi" in capsys.readouterr().out.replace("\u00a0", " ")


def test_without_it_or_with_another_it_stays_shut(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = recorded(tmp_path, monkeypatch)
    capsys.readouterr()
    assert main(["report", str(path)]) == 2
    monkeypatch.setenv("OXYGEN_ASSISTANT_PASSPHRASE", "low water")
    assert main(["report", "--locked", str(path)]) == 2
    assert capsys.readouterr().err.count("\n") == 2
