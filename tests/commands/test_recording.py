"""A live incident's record: begun, gone on with, told of when it fails, and kept by replay where asked."""

from __future__ import annotations

import io
from argparse import ArgumentParser, Namespace
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from assistant.cli import main
from assistant.commands.recording import (
    MENDED_SAID,
    RESUMED_WITHIN,
    TROUBLE_SAID,
    TellingRecord,
    add_record_options,
    opened_record,
)
from assistant.incident import events as ev
from assistant.journal import incidents, open_incidents, read

SENTENCE = "bottle reads 1500, small cylinder, 15 litres"


def options(folder: Path, *more: str) -> Namespace:
    parser = ArgumentParser()
    add_record_options(parser)
    return parser.parse_args(["--record", str(folder), *more])


def chat(monkeypatch: pytest.MonkeyPatch, folder: Path, *lines: str, new: bool = False) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
    assert main(["chat", "--record", str(folder), *(["--new"] if new else [])]) == 0


def test_a_conversation_is_gone_on_with(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    chat(monkeypatch, tmp_path, SENTENCE, "boat in 70 minutes")
    assert "About thirteen minutes" in capsys.readouterr().out.replace("\n        ", " ")
    chat(monkeypatch, tmp_path, "what's the pressure")
    out = capsys.readouterr().out.replace("\n        ", " ")
    assert "Going on with the incident" in out
    assert "fifteen hundred" in out or "one four nine" in out
    assert len(incidents(tmp_path)) == 1


def test_new_begins_another_and_an_ended_one_is_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    chat(monkeypatch, tmp_path, SENTENCE)
    chat(monkeypatch, tmp_path, SENTENCE, "/end", new=True)
    assert len(incidents(tmp_path)) == 2
    assert len(open_incidents(tmp_path)) == 1
    assert "The incident is ended." in capsys.readouterr().err


def test_a_pending_question_and_alerts_go_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    chat(monkeypatch, tmp_path, "15 litres, small cylinder")
    assert "What does the gauge read?" in capsys.readouterr().out.replace("\n        ", " ")
    chat(monkeypatch, tmp_path, "1500")
    assert "About thirteen minutes" in capsys.readouterr().out.replace("\n        ", " ")


def test_an_old_incident_is_not_gone_on_with_unasked(tmp_path: Path) -> None:
    first = opened_record(options(tmp_path))
    first.journal.append([ev.FlowSet(at_s=1.0, patient="1", flow_l_min=6.0)])
    first.journal.close()
    later = datetime.now(timezone.utc) + RESUMED_WITHIN + timedelta(minutes=1)
    second = opened_record(options(tmp_path), now=later)
    second.journal.close()
    assert not second.resumed
    assert "was never ended" in second.notices[0]
    assert str(first.journal.path) in second.notices[0]


def test_the_clock_goes_on_while_nobody_looks(tmp_path: Path) -> None:
    first = opened_record(options(tmp_path))
    first.journal.append([ev.FlowSet(at_s=100.0, patient="1", flow_l_min=6.0)])
    first.journal.close()
    second = opened_record(options(tmp_path))
    second.journal.close()
    assert second.resumed
    assert second.events == (ev.FlowSet(at_s=100.0, patient="1", flow_l_min=6.0),)
    assert second.began_s >= 100.0


class FailingJournal:
    """A journal whose disk fills up and is emptied again."""

    trouble: str | None = None

    def append(self, events: object) -> tuple[int, ...]:
        return (1,)


def test_trouble_is_told_once_and_so_is_its_end() -> None:
    told: list[tuple[str, str]] = []
    journal = FailingJournal()
    record = TellingRecord(journal, lambda shown, said: told.append((shown, said)))  # type: ignore[arg-type]
    for trouble in (None, "the disk is full", "the disk is full", None, None):
        journal.trouble = trouble
        record.append([])
    assert told == [("The disk is full.", TROUBLE_SAID), (MENDED_SAID, MENDED_SAID)]


def test_a_record_that_cannot_be_written_is_told_and_the_conversation_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    blocked = tmp_path / "a file"
    blocked.write_text("no folder", encoding="utf-8")
    chat(monkeypatch, blocked, SENTENCE)
    shown = capsys.readouterr()
    assert "The record cannot be written" in shown.out
    assert "About thirteen minutes" in shown.out.replace("\n        ", " ")
    assert "are lost" in shown.err


def test_replay_keeps_a_record_where_asked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = tmp_path / "lines.jsonl"
    lines.write_text(f'{{"at_s": 5, "text": "{SENTENCE}"}}\n', encoding="utf-8")
    assert main(["replay", str(lines), "--record", str(tmp_path / "kept"), "--json"]) == 0
    [file] = incidents(tmp_path / "kept")
    assert file.finished
    assert {record.event.at_s for record in read(file.path).records} == {5.0}
