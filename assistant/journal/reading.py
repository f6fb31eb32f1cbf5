"""Reads a journal file without touching it: takes a path, gives its events; refuses what is not whole and ours.

Every row is checked against its chained CRC, so that a number changed on the disk is found out and not read aloud.
"""

from __future__ import annotations

import gc
import json
import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from urllib.parse import quote

from assistant.collector import no_collector
from assistant.incident.events import NoteMade
from assistant.incident.events_json import EventError, event_from_json, event_once_written
from assistant.incident.record import Record
from assistant.journal.schema import APPLICATION_ID, VERSION, row_crc
from assistant.journal.sealing import Seal, SealError
from assistant.journal.wal import ends_in_an_unfinished_record

UNFINISHED = "an unfinished record at the end was dropped"


class JournalError(ValueError):
    """The file cannot be used; the text says which, and why, on one line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """What befell the file: begun, resumed, dropped, finished."""

    what: str
    at_s: float
    wall: str
    detail: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stored:
    """What a journal file holds. `notices` says, in words, what was dropped; `last` is its last row's number."""

    path: Path
    began: str
    kit: str
    records: tuple[Record, ...]
    marks: tuple[Mark, ...]
    notices: tuple[str, ...]
    last: int
    last_crc: int
    dropped: tuple[int, ...]
    seal: Seal | None

    @property
    def finished(self) -> bool:
        """Whether the incident was brought to its end; it is not offered again."""
        return any(mark.what == "finished" for mark in self.marks)


_Row = tuple[int, str, float, str, "str | bytes", "int | None"]  # number, kind, at_s, wall, body, crc
_MANY = 10_000  # so many records take longer for the garbage collector to walk than is well in a conversation
_decode = json.JSONDecoder().raw_decode


def read(path: Path, *, passphrase: str | None = None) -> Stored:
    """Everything in the file at `path`; raises JournalError, and leaves the file as it is either way."""
    try:
        return _stored(path, passphrase)
    except JournalError:
        raise
    except (ValueError, TypeError, AttributeError) as error:  # a value of another kind than was ever written there
        why = f"this incident journal is damaged ({_in_a_line(error)})"
        raise JournalError(f"{path}: {why}; it is left as it is") from error


def _in_a_line(error: Exception) -> str:
    """The complaint, which may quote bytes of the file, as printable text on one line, of bearable length."""
    return " ".join("".join(letter if letter.isprintable() else " " for letter in str(error)).split())[:200]


def _stored(path: Path, passphrase: str | None) -> Stored:
    with opened_to_read(path) as connection, no_collector():
        version = found_version(connection, path)
        named = dict(connection.execute("SELECT name, value FROM incident"))
        marks = read_marks(connection, version)
        crc = "crc" if version >= 2 else "NULL"
        rows: list[_Row] = connection.execute(
            f"SELECT number, kind, at_s, wall, body, {crc} FROM event ORDER BY number"
        ).fetchall()
    seal = _seal(path, named, passphrase)
    given_up = frozenset(int(mark.detail) for mark in marks if mark.what == "dropped")
    with no_collector():  # a hundred thousand new events, none of them garbage, would cost half more
        records, dropped = _records(path, rows, seal, given_up)
        if len(records) > _MANY:
            gc.freeze()
    notices = [f"record {number}, the last, could not be read and was dropped" for number in dropped]
    if ends_in_an_unfinished_record(wal_of(path)):
        notices.append(UNFINISHED)
    return Stored(
        path=path,
        began=named.get("began", ""),
        kit=named.get("kit", ""),
        records=records,
        marks=marks,
        notices=tuple(notices),
        last=rows[-1][0] if rows else 0,
        last_crc=(rows[-1][5] or 0) if rows else 0,
        dropped=dropped,
        seal=seal,
    )


def wal_of(path: Path) -> Path:
    """The write-ahead log beside the journal."""
    return path.with_name(path.name + "-wal")


@contextmanager
def opened_to_read(path: Path) -> Iterator[sqlite3.Connection]:
    """A connection that changes nothing; SQLite's complaints come out as JournalError."""
    if not path.is_file():
        raise JournalError(f"{path}: there is no such file")
    # Without a log beside it the file is at rest: opened as immutable, not even SQLite's own side files appear.
    # The file is never opened but by SQLite: closing it would drop the locks this process may hold on it
    # (https://www.sqlite.org/howtocorrupt.html, section 2.2).
    at_rest = "" if wal_of(path).exists() else "&immutable=1"
    try:
        with (
            _where_it_can_be_read(path) as there,
            closing(sqlite3.connect(f"file:{quote(str(there))}?mode=ro{at_rest}", uri=True)) as connection,
        ):
            yield connection
    except sqlite3.DatabaseError as error:
        raise JournalError(f"{path}: {_complaint(error)}; it is left as it is") from error


@contextmanager
def _where_it_can_be_read(path: Path) -> Iterator[Path]:
    """The file itself; a copy where a crash left a log beside it on a medium that cannot be written to any more:
    SQLite would need to make its index of the log there."""
    if not wal_of(path).exists() or os.access(path.parent, os.W_OK):
        yield path
        return
    with TemporaryDirectory() as folder:
        for each in (path, wal_of(path)):
            shutil.copy(each, folder)
        yield Path(folder) / path.name


def _complaint(error: sqlite3.DatabaseError) -> str:
    if "not a database" in str(error):
        return "this is no incident journal"
    if isinstance(error, sqlite3.OperationalError):
        return f"this incident journal cannot be opened ({_in_a_line(error)})"
    return f"this incident journal is damaged ({_in_a_line(error)})"


def found_version(connection: sqlite3.Connection, path: Path) -> int:
    """The version of our file; raises JournalError for a foreign file or a version yet to come."""
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    if application != APPLICATION_ID:
        raise JournalError(f"{path}: this is no incident journal; it is left as it is")
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    if not 1 <= version <= VERSION:
        raise JournalError(f"{path}: written by a later version ({version}); this one reads up to {VERSION}")
    return int(version)


def read_marks(connection: sqlite3.Connection, version: int) -> tuple[Mark, ...]:
    """The marks of the file, in order; version 1 had none."""
    if version < 2:
        return ()
    rows = connection.execute("SELECT what, at_s, wall, detail FROM mark ORDER BY number")
    return tuple(Mark(what=what, at_s=at_s, wall=wall, detail=detail) for what, at_s, wall, detail in rows)


def _seal(path: Path, named: dict[str, str], passphrase: str | None) -> Seal | None:
    if "seal_salt" not in named:
        return None
    if passphrase is None:
        raise JournalError(f"{path}: this incident is sealed; it needs its passphrase")
    try:
        seal = Seal.made(passphrase, bytes.fromhex(named["seal_salt"]))
    except SealError as error:
        raise JournalError(f"{path}: {error}") from error
    if not seal.proves(bytes.fromhex(named["seal_proof"])):
        raise JournalError(f"{path}: the passphrase does not open this incident")
    return seal


def _records(
    path: Path, rows: list[_Row], seal: Seal | None, given_up: frozenset[int]
) -> tuple[tuple[Record, ...], tuple[int, ...]]:
    """The records, and the number of a last one that had to be dropped; raises JournalError for any other."""
    records: list[Record] = []
    before = 0
    for row in rows:
        number = row[0]
        try:
            records.append(_stand_in(row) if number in given_up else _record(row, before, seal))
        except (EventError, SealError, ValueError) as error:
            if row is rows[-1]:
                return (*records, _stand_in(row)), (number,)
            raise JournalError(
                f"{path}: record {number} of {rows[-1][0]} is damaged ({error}); the file is left as it is"
            ) from error
        before = row[5] or 0
    return tuple(records), ()


def _stand_in(row: _Row) -> Record:
    """What takes the place of a dropped record, so that the numbers of the others still fit."""
    number, _, at_s, wall, _, _ = row
    return Record(number=number, wall=wall, event=NoteMade(at_s=at_s, text="A record here could not be read."))


def _record(row: _Row, before: int, seal: Seal | None) -> Record:
    number, kind, at_s, wall, body, crc = row
    if crc is not None and row_crc(before, number, kind, at_s, wall, body) != crc:
        raise ValueError("its checksum does not fit")
    if seal is not None:
        body = seal.opened(number, body if isinstance(body, bytes) else body.encode())
    value = _parsed(body)
    # What carries its checksum is what was proven readable when it was written; version 1 proved nothing.
    event = event_from_json(value) if crc is None else event_once_written(value)
    return Record(number=number, wall=wall, event=event)


def _parsed(body: str | bytes) -> Any:
    text = body if isinstance(body, str) else body.decode()
    value, end = _decode(text)
    if end != len(text):
        raise ValueError("it is no JSON")
    return value
