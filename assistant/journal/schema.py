"""The layout of a journal file, its versions, and how a file of an older version is brought to the present one.

A journal is an ordinary SQLite file: `sqlite3 FILE "select at_s, kind, body from event"` reads it.

    incident   name, value: `began` (ISO wall time with the offset of the place), `kit` (the kit's TOML), and for a
               sealed journal `seal_salt` and `seal_proof` (hexadecimal)
    event      number (from 1, no gaps), kind, at_s (seconds since the incident began), wall (ISO, UTC), body (the
               event as JSON; sealed: a blob, and kind is "sealed"), crc (CRC-32 of the row, chained on the row before)
    mark       what befell the file: "begun", "resumed", "dropped" (detail: the number of an unreadable last
               event), "finished"; detail of begun and resumed: the boot and the seconds since it

Rows are added at the end; triggers refuse every update, delete and replacement. Versions (`PRAGMA user_version`):
1: `incident` and `event` without `crc`. 2: `crc` (NULL in rows written by version 1) and `mark`.
"""

from __future__ import annotations

import sqlite3
import zlib

APPLICATION_ID = 0x4F583032  # "OX02", at byte 68 of the file: tells our files from every other SQLite file
VERSION = 2

_VERSION_1 = """
CREATE TABLE incident (name TEXT PRIMARY KEY, value TEXT NOT NULL);
CREATE TABLE event (
    number INTEGER PRIMARY KEY,
    kind TEXT NOT NULL,
    at_s REAL NOT NULL,
    wall TEXT NOT NULL,
    body NOT NULL
);
"""

_VERSION_2 = """
ALTER TABLE event ADD COLUMN crc INTEGER;
CREATE TABLE mark (
    number INTEGER PRIMARY KEY,
    what TEXT NOT NULL,
    at_s REAL NOT NULL,
    wall TEXT NOT NULL,
    detail TEXT NOT NULL
);
"""

# A replacing insert deletes the old row without waking the delete trigger, so a trigger of its own refuses it.
_GUARD = """
CREATE TRIGGER {table}_keeps_update BEFORE UPDATE ON {table}
BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
CREATE TRIGGER {table}_keeps_delete BEFORE DELETE ON {table}
BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
"""
_GUARD_END = """
CREATE TRIGGER {table}_grows_at_its_end BEFORE INSERT ON {table}
WHEN NEW.number <> (SELECT coalesce(max(number), 0) + 1 FROM {table})
BEGIN SELECT RAISE(ABORT, 'the journal grows at its end'); END;
"""
_GUARD_NAME = """
CREATE TRIGGER incident_grows_at_its_end BEFORE INSERT ON incident
WHEN EXISTS (SELECT 1 FROM incident WHERE name = NEW.name)
BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
"""

_STEPS = {
    1: _VERSION_1
    + _GUARD.format(table="incident")
    + _GUARD_NAME
    + _GUARD.format(table="event")
    + _GUARD_END.format(table="event"),
    2: _VERSION_2 + _GUARD.format(table="mark") + _GUARD_END.format(table="mark"),
}


def lay_out(connection: sqlite3.Connection, *, version: int = VERSION) -> None:
    """Gives an empty file the tables of `version`, in one transaction."""
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    _step_up(connection, 0, version)


def bring_up_to_date(connection: sqlite3.Connection) -> None:
    """Adds what later versions added; rows that are there stay as they are."""
    (found,) = connection.execute("PRAGMA user_version").fetchone()
    if found < VERSION:
        _step_up(connection, found, VERSION)


def _step_up(connection: sqlite3.Connection, found: int, wanted: int) -> None:
    steps = "".join(_STEPS[each] for each in range(found + 1, wanted + 1))
    connection.executescript(f"BEGIN IMMEDIATE; {steps} PRAGMA user_version = {wanted}; COMMIT;")


def row_crc(before: int, number: int, kind: str, at_s: float, wall: str, body: str | bytes) -> int:
    """CRC-32 of a row of `event`, chained on the CRC of the row before (0 for the first)."""
    head = f"{number}|{kind}|{at_s!r}|{wall}|".encode()
    return zlib.crc32(body if isinstance(body, bytes) else body.encode(), zlib.crc32(head, before))
