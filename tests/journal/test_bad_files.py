"""Corrupted, truncated and foreign files are refused with one clear line and stay as they are."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from assistant.incident import events as ev
from assistant.journal import Journal, JournalError, incidents, read
from assistant.journal.reading import UNFINISHED
from assistant.journal.schema import VERSION, lay_out

NOTES = tuple(ev.NoteMade(at_s=float(n), text=f"note {n} " + "smoke " * 50) for n in range(200))


@pytest.fixture
def path(folder: Path) -> Path:
    """A sound journal of 200 events, closed."""
    journal = Journal.create(folder)
    journal.append(NOTES)
    journal.close()
    return journal.path


def as_it_is(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def refused(path: Path) -> str:
    """The line by which both ways of opening refuse the file; nothing in its folder is changed by it."""
    before = as_it_is(path.parent)
    lines = []
    for opened in (read, Journal.open):
        with pytest.raises(JournalError) as error:
            opened(path)  # type: ignore[operator]
        lines.append(str(error.value))
    assert as_it_is(path.parent) == before
    assert lines[0] == lines[1]
    assert "\n" not in lines[0]
    return lines[0]


def unguarded(path: Path, statement: str) -> None:
    """What a stray tool or a fault of the disk would do: changes a row behind the triggers' back."""
    with closing(sqlite3.connect(path)) as connection:
        for (trigger,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {trigger}")
        connection.execute(statement)
        connection.commit()


def overwritten(path: Path, at: int, what: bytes) -> None:
    with path.open("r+b") as file:
        file.seek(at)
        file.write(what)


@pytest.mark.parametrize(
    ("harm", "line"),
    [
        (lambda path: path.write_bytes(b""), "no incident journal"),
        (lambda path: path.write_text("Dear all,\n" * 50), "no incident journal"),
        (lambda path: path.write_bytes(path.read_bytes()[:1000]), "damaged"),
        (lambda path: path.write_bytes(path.read_bytes()[: path.stat().st_size // 2]), "damaged"),
        (lambda path: overwritten(path, 4096 * 5, b"\xff" * 4096), "damaged"),
        (lambda path: unguarded(path, "UPDATE event SET at_s = at_s + 1 WHERE number = 7"), "record 7 of 200"),
        (lambda path: unguarded(path, "UPDATE event SET body = replace(body, 'note 8', 'note 9')"), "record 9 of 200"),
        (lambda path: unguarded(path, "DELETE FROM event WHERE number = 50"), "record 51 of 200"),
        (lambda path: unguarded(path, f"PRAGMA user_version = {VERSION + 1}"), "a later version"),
        (lambda path: path.unlink(), "no such file"),
    ],
)
def test_a_bad_file_is_refused_and_left_as_it_is(path: Path, harm: Callable[[Path], object], line: str) -> None:
    harm(path)
    assert line in refused(path)


def test_a_digit_changed_on_the_disk_is_found_out(path: Path) -> None:
    """SQLite itself would read the changed number without a word."""
    at = path.read_bytes().index(b"note 120 ")
    overwritten(path, at, b"note 720 ")
    assert "record 121 of 200 is damaged (its checksum does not fit)" in refused(path)


def test_another_programs_database_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "recipes.sqlite"
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE event (number INTEGER PRIMARY KEY, body TEXT)")
    assert "no incident journal" in refused(path)


def test_a_bad_file_among_good_ones_is_told_of_and_does_not_hide_them(path: Path) -> None:
    (path.parent / "incident-20200101T000000Z.sqlite").write_text("x")
    good, bad = incidents(path.parent)
    assert (good.path, good.events, good.trouble) == (path, 200, None)
    assert bad.trouble is not None


def test_an_unreadable_last_record_is_dropped_said_and_written_on_from(path: Path) -> None:
    unguarded(path, "UPDATE event SET body = substr(body, 1, 40) WHERE number = 200")
    said = "record 200, the last, could not be read and was dropped"
    assert read(path).notices == (said,)
    journal = Journal.open(path)
    assert journal.notices == (said,)
    assert journal.append([NOTES[0]]) == (201,)
    journal.close()
    again = read(path)
    assert [record.number for record in again.records] == [*range(1, 202)]
    assert again.records[199].event == ev.NoteMade(at_s=199.0, text="A record here could not be read.")
    assert again.notices == ()


def crashed(journal: Journal, to: Path) -> Path:
    """The files as a power cut would leave them: copied while the journal is open, its log not yet folded in."""
    to.mkdir()
    for path in journal.path.parent.iterdir():
        if path.suffix != ".lock" and not path.name.endswith("-shm"):
            shutil.copy(path, to / path.name)
    return to / journal.path.name


def crashed_with_notes(folder: Path, to: Path) -> tuple[Path, Path]:
    """A journal of all the notes after a power cut, and its log."""
    journal = Journal.create(folder)
    for note in NOTES:
        journal.append([note])
    path = crashed(journal, to)
    journal.close()
    return path, path.with_name(path.name + "-wal")


@pytest.mark.parametrize("cut", [1, 100, 4096, 4096 + 23])
def test_a_record_cut_off_by_a_power_cut_is_dropped_and_said(folder: Path, tmp_path: Path, cut: int) -> None:
    path, log = crashed_with_notes(folder, tmp_path / "after")
    assert read(path).notices == ()
    log.write_bytes(log.read_bytes()[:-cut])
    journal = Journal.open(path)
    assert journal.notices == (UNFINISHED,)
    assert journal.events() == tuple(enumerate(NOTES[:-1], start=1))
    assert journal.append([NOTES[-1]]) == (200,)
    journal.close()
    assert [record.event for record in read(path).records] == list(NOTES)


def test_a_record_whose_page_was_torn_is_dropped_and_said(folder: Path, tmp_path: Path) -> None:
    path, log = crashed_with_notes(folder, tmp_path / "after")
    overwritten(log, log.stat().st_size - 2000, b"\0" * 100 + b"\1")
    stored = read(path)
    assert stored.notices == (UNFINISHED,)
    assert [record.event for record in stored.records] == list(NOTES[:-1])


def version_1_file(folder: Path) -> Path:
    """A file as version 1 wrote it: no checksums, no marks."""
    folder.mkdir()
    path = folder / "incident-20310504T093000Z.sqlite"
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        lay_out(connection, version=1)
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("INSERT INTO incident VALUES ('began', '2031-05-04T09:30:00.000+00:00'), ('kit', '')")
        connection.execute(
            "INSERT INTO event VALUES (1, 'flow_set', 4.0, '2031-05-04T09:30:04.000+00:00', "
            """'{"kind":"flow_set","at_s":4.0,"patient":"1","flow_l_min":15.0}')"""
        )
    return path


def test_a_file_of_version_1_is_read_and_left_as_it_is(folder: Path) -> None:
    path = version_1_file(folder)
    before = as_it_is(folder)
    stored = read(path)
    assert [record.event for record in stored.records] == [ev.FlowSet(at_s=4.0, patient="1", flow_l_min=15.0)]
    assert stored.began == "2031-05-04T09:30:00.000+00:00"
    assert as_it_is(folder) == before


def test_a_file_of_version_1_is_gone_on_with(folder: Path) -> None:
    path = version_1_file(folder)
    journal = Journal.open(path)
    assert journal.append([NOTES[1]]) == (2,)
    journal.close()
    stored = read(path)
    assert [record.event.kind for record in stored.records] == ["flow_set", "note_made"]
    assert [mark.what for mark in stored.marks] == ["resumed"]
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (VERSION,)
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            connection.execute("DELETE FROM event")
