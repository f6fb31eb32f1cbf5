"""What is appended is on the disk, in order, once, and nothing can change it afterwards."""

from __future__ import annotations

import json
import os
import sqlite3
import stat
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from assistant.incident import events as ev
from assistant.incident.events_json import EventError
from assistant.journal import Journal, JournalError, forget, incidents, open_incidents, read


def flow(at_s: float) -> ev.FlowSet:
    return ev.FlowSet(at_s=at_s, patient="1", flow_l_min=15.0)


def test_what_was_appended_is_read_back_from_the_file(folder: Path, one_of_each: tuple[ev.Event, ...]) -> None:
    journal = Journal.create(folder, kit="reserve = '200 psi'")
    assert journal.append(one_of_each[:3]) == (1, 2, 3)
    assert journal.append(one_of_each[3:]) == tuple(range(4, len(one_of_each) + 1))
    stored = read(journal.path)  # while it is open for writing, as a report is made mid-incident
    journal.close()
    assert stored == read(journal.path)
    assert tuple(record.event for record in stored.records) == one_of_each
    assert [record.number for record in stored.records] == list(range(1, len(one_of_each) + 1))
    assert (stored.kit, stored.notices, journal.trouble) == ("reserve = '200 psi'", (), None)


def test_it_goes_on_where_it_stopped(folder: Path) -> None:
    first = Journal.create(folder)
    first.append([flow(1.0), flow(2.0)])
    first.close()
    second = Journal.open(first.path)
    assert second.append([flow(3.0)]) == (3,)
    assert second.events() == ((1, flow(1.0)), (2, flow(2.0)), (3, flow(3.0)))
    assert second.began == first.began
    second.close()
    assert [mark.what for mark in read(first.path).marks] == ["begun", "resumed"]


def test_only_the_owner_can_read_it(folder: Path) -> None:
    journal = Journal.create(folder)
    journal.append([flow(1.0)])
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert {path.name: stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()} == {
        path.name: 0o600 for path in folder.iterdir()
    }
    assert len(list(folder.iterdir())) == 4  # the file, its log, the log's index and the lock
    journal.close()
    assert list(folder.iterdir()) == [journal.path]


def test_the_row_is_synchronised_with_the_disk_before_append_returns(folder: Path) -> None:
    journal = Journal.create(folder)
    assert journal._connection is not None
    settings = [journal._connection.execute(f"PRAGMA {name}").fetchone()[0] for name in ("journal_mode", "synchronous")]
    journal.close()
    assert settings == ["wal", 2]  # 2 is FULL: https://www.sqlite.org/pragma.html#pragma_synchronous


def test_a_value_that_could_not_be_read_back_is_refused_and_the_file_stays_readable(folder: Path) -> None:
    journal = Journal.create(folder)
    for poison in (flow(float("nan")), ev.GaugeRead(at_s=1.0, cylinder="1", value="x", unit="", pressure_bar=1.0)):  # type: ignore[arg-type]
        with pytest.raises(EventError):
            journal.append([flow(1.0), poison])
    half = ev.NoteMade(at_s=2.0, text="half a character: \udc80")
    assert journal.append([half]) == (1,)
    journal.close()
    assert [record.event for record in read(journal.path).records] == [half]


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE event SET at_s = 0 WHERE number = 1",
        "DELETE FROM event",
        "REPLACE INTO event SELECT * FROM event WHERE number = 1",
        "INSERT INTO event SELECT 7, kind, at_s, wall, body, crc FROM event WHERE number = 1",
        "UPDATE incident SET value = ''",
        "DELETE FROM incident",
        "REPLACE INTO incident VALUES ('began', '')",
        "UPDATE mark SET what = ''",
        "DELETE FROM mark",
        "REPLACE INTO mark SELECT * FROM mark",
    ],
)
def test_nothing_on_record_can_be_changed(folder: Path, statement: str) -> None:
    journal = Journal.create(folder)
    journal.append([flow(1.0), flow(2.0)])
    journal.close()
    before = read(journal.path)
    with (
        closing(sqlite3.connect(journal.path)) as connection,
        pytest.raises(sqlite3.IntegrityError, match=r"append-only|grows at its end"),
    ):
        connection.execute(statement)
    assert read(journal.path) == before


def test_ordinary_sqlite_tools_read_it(folder: Path, one_of_each: tuple[ev.Event, ...]) -> None:
    journal = Journal.create(folder)
    journal.append(one_of_each)
    journal.close()
    with closing(sqlite3.connect(journal.path)) as connection:
        rows = connection.execute("SELECT kind, at_s, body FROM event ORDER BY number").fetchall()
    assert [row[0] for row in rows] == [event.kind for event in one_of_each]
    assert [row[1] for row in rows] == [event.at_s for event in one_of_each]
    assert json.loads(rows[1][2])["pressure_bar"] == 103.42135939752539


def test_only_one_assistant_writes(folder: Path) -> None:
    journal = Journal.create(folder)
    assert open_incidents(folder) == ()
    with pytest.raises(JournalError, match="open in another running assistant"):
        Journal.open(journal.path)
    with pytest.raises(JournalError, match="open in a running assistant"):
        forget(journal.path)
    journal.append([flow(1.0)])
    journal.close()
    assert [incident.path for incident in open_incidents(folder)] == [journal.path]


def test_a_finished_incident_is_kept_and_not_offered_again(folder: Path) -> None:
    journal = Journal.create(folder)
    journal.append([flow(61.5)])
    journal.finish(61.5)
    assert open_incidents(folder) == ()
    (incident,) = incidents(folder)
    assert (incident.finished, incident.events, incident.last_at_s) == (True, 1, 61.5)
    assert read(journal.path).finished


def test_incidents_of_the_same_second_have_files_of_their_own(folder: Path, wall_clock: object) -> None:
    journals = [Journal.create(folder, now=wall_clock) for _ in range(3)]  # type: ignore[arg-type]
    assert len({journal.path for journal in journals}) == 3
    for journal in journals:
        journal.close()


def test_a_forgotten_incident_is_gone(folder: Path) -> None:
    kept, gone = Journal.create(folder), Journal.create(folder)
    for journal in (kept, gone):
        journal.append([flow(1.0)])
        journal.close()
    assert forget(gone.path) == (gone.path,)
    assert list(folder.iterdir()) == [kept.path]


def test_a_foreign_file_is_not_forgotten(tmp_path: Path) -> None:
    letter = tmp_path / "letter.txt"
    letter.write_text("dear all")
    with pytest.raises(JournalError, match="no incident journal"):
        forget(letter)
    assert letter.read_text() == "dear all"


def test_a_full_disk_is_said_and_nothing_is_lost(folder: Path) -> None:
    journal = Journal.create(folder)
    journal.append([flow(1.0)])
    assert journal._connection is not None
    (pages,) = journal._connection.execute("PRAGMA page_count").fetchone()
    journal._connection.execute(f"PRAGMA max_page_count = {pages}")
    long_note = ev.NoteMade(at_s=2.0, text="smoke " * 4000)
    assert journal.append([long_note]) == (2,)
    assert journal.trouble is not None
    assert "database or disk is full" in journal.trouble
    assert (journal.unsaved, [r.event for r in read(journal.path).records]) == (1, [flow(1.0)])
    assert journal.append([flow(3.0)]) == (3,)  # the connection is made anew, without the limit: there is room again
    assert (journal.trouble, journal.unsaved) == (None, 0)
    journal.close()
    assert [r.event for r in read(journal.path).records] == [flow(1.0), long_note, flow(3.0)]


LIMITED = """
import resource, signal, sys
from pathlib import Path
from assistant.incident.events import NoteMade
from assistant.journal import Journal, read
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
journal = Journal.create(Path(sys.argv[1]))
journal.append([NoteMade(at_s=0.0, text="first")])
resource.setrlimit(resource.RLIMIT_FSIZE, (40_000, resource.RLIM_INFINITY))
notes = [NoteMade(at_s=float(n), text="x" * 3000) for n in range(1, 30)]
for note in notes:
    journal.append([note])
print(journal.trouble, journal.unsaved > 0)
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
print(journal.retry(), journal.unsaved)
journal.close()
print(len(read(journal.path).records), [n for n, e in Journal.open(journal.path).events()] == list(range(1, 31)))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no limit on the size of files to run into")
def test_writes_that_the_system_cuts_short_are_made_good(folder: Path) -> None:
    """The system itself refuses to let the file grow, in the middle of a write."""
    root = str(Path(__file__).parents[2])
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, str(folder)],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": root},
    )
    said, retried, read_back = done.stdout.splitlines()
    assert said.startswith("the record cannot be written (")
    assert said.endswith("True")
    assert retried == "True 0"
    assert read_back == "30 True"


def test_a_folder_that_cannot_be_made_is_said_and_the_incident_goes_on(tmp_path: Path) -> None:
    in_the_way = tmp_path / "incidents"
    in_the_way.write_text("a file where the folder should be")
    journal = Journal.create(in_the_way)
    assert journal.append([flow(1.0)]) == (1,)
    assert journal.trouble is not None
    assert "1 entry is kept in memory" in journal.trouble
    assert journal.events() == ((1, flow(1.0)),)
    in_the_way.unlink()
    assert journal.append([flow(2.0)]) == (2,)
    assert journal.trouble is None
    journal.close()
    assert [record.event for record in read(journal.path).records] == [flow(1.0), flow(2.0)]


def test_a_read_only_file_is_said(folder: Path) -> None:
    journal = Journal.create(folder)
    assert journal._connection is not None
    journal._connection.execute("PRAGMA query_only = ON")
    journal.append([flow(1.0)])
    assert journal.trouble is not None
    assert "readonly" in journal.trouble
    assert journal.retry()
    journal.close()
    assert len(read(journal.path).records) == 1


def test_the_file_and_its_name_are_made_whole_or_not_at_all(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object) -> None:
        raise OSError("the battery is flat")

    monkeypatch.setattr(Path, "rename", fails)
    journal = Journal.create(folder)
    assert journal.trouble is not None
    assert incidents(folder) == ()
    monkeypatch.undo()
    assert journal.retry()
    assert [path for path in folder.iterdir() if path.name.startswith(".")] == []
    journal.close()
    assert os.listdir(folder) == [journal.path.name]


def test_a_medium_that_became_read_only_is_read_from_and_gone_on_with_in_memory(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As a card that was switched to read-only after a crash: the log is there, and nothing can be made beside it."""
    journal = Journal.create(folder)
    journal.append([flow(1.0)])  # still in the log alone; the process is killed now
    journal._lock.release()
    real_open, real_access = os.open, os.access

    def open_(path: object, flags: int, *rest: int, **more: int) -> int:
        if flags & os.O_CREAT and str(path).startswith(str(folder)):
            raise OSError(30, "Read-only file system")
        return real_open(path, flags, *rest, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(os, "open", open_)
    monkeypatch.setattr(os, "access", lambda path, mode: Path(path) != folder and real_access(path, mode))
    before = sorted(path.name for path in folder.iterdir())
    assert [record.event for record in read(journal.path).records] == [flow(1.0)]
    again = Journal.open(journal.path)
    assert again.append([flow(2.0)]) == (2,)
    assert again.trouble is not None
    assert "Read-only file system" in again.trouble
    assert sorted(path.name for path in folder.iterdir()) == before
    monkeypatch.undo()
    assert again.retry()
    again.close()
    assert [record.event for record in read(journal.path).records] == [flow(1.0), flow(2.0)]
