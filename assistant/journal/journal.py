"""The journal of one incident: events are added at its end, and are on the disk before `append` returns.

Where the disk is full or read-only the events are kept in memory, `trouble` says so, and every later append (or
`retry`) writes them when it can. Refuses to change or to remove anything.
"""

from __future__ import annotations

import os
import sqlite3
import threading
from collections.abc import Callable, Sequence
from datetime import datetime, timezone
from pathlib import Path
from typing import Any

from assistant.incident.events import Event
from assistant.incident.events_json import event_to_text
from assistant.incident.record import Record
from assistant.journal.clock import since_boot
from assistant.journal.lock import Lock
from assistant.journal.reading import JournalError, Stored, read
from assistant.journal.schema import bring_up_to_date, lay_out, row_crc
from assistant.journal.sealing import Seal, SealError

Now = Callable[[], datetime]
_Row = tuple[int, str, float, str, "str | bytes", int]


def wall_now() -> datetime:
    """The wall clock, in UTC."""
    return datetime.now(timezone.utc)


def as_wall(moment: datetime) -> str:
    """The moment as the journal writes it: ISO, UTC, milliseconds."""
    return moment.astimezone(timezone.utc).isoformat(timespec="milliseconds")


class Journal:
    """An incident's journal, open for writing. Made by `create` or `open`, closed by `close` or `finish`."""

    def __init__(self, path: Path, *, now: Now, seal: Seal | None, kit: str) -> None:
        self.path = path
        self.notices: tuple[str, ...] = ()
        self.trouble: str | None = None
        # The time of day where it happened is what the people of the incident know it by.
        self.began = now().astimezone().isoformat(timespec="milliseconds")
        self.kit = kit
        self._now = now
        self._seal = seal
        self._guard = threading.Lock()
        self._lock = Lock(path)
        self._connection: sqlite3.Connection | None = None
        self._records: list[Record] = []
        self._unsaved: list[_Row] = []
        self._unmarked: list[tuple[str, float, str, str]] = []
        self._last = 0
        self._last_crc = 0

    @classmethod
    def create(cls, folder: Path, *, kit: str = "", passphrase: str | None = None, now: Now = wall_now) -> Journal:
        """A new incident's journal in `folder`; `kit` is the kit's TOML, kept beside the events.

        Where no file can be made the journal lives in memory and `trouble` says why. Raises JournalError where a
        passphrase was given and cannot be used: nothing is written in clear that was to be sealed.
        """
        try:
            seal = None if passphrase is None else Seal.made(passphrase)
        except SealError as error:
            raise JournalError(str(error)) from error
        journal = cls(_free_path(folder, now()), now=now, seal=seal, kit=kit)
        journal._mark("begun", 0.0, since_boot())
        journal.retry()
        return journal

    @classmethod
    def open(cls, path: Path, *, passphrase: str | None = None, now: Now = wall_now) -> Journal:
        """The journal at `path`, to go on with; raises JournalError and leaves the file as it is."""
        stored = read(path, passphrase=passphrase)
        journal = cls(path, now=now, seal=stored.seal, kit=stored.kit)
        if journal._held_by_another():
            raise JournalError(f"{path}: this incident is open in another running assistant")
        journal._go_on(stored)
        return journal

    def append(self, events: Sequence[Event]) -> tuple[int, ...]:
        """The events' numbers, once they are on the disk, all or none of them; see `trouble` for when they are not.

        Raises EventError, and takes none of them, where one could not be read back.
        """
        texts = [event_to_text(event) for event in events]
        with self._guard:
            wall = as_wall(self._now())
            numbers = tuple(self._take(event, text, wall) for event, text in zip(events, texts, strict=True))
            self._write()
            return numbers

    def retry(self) -> bool:
        """Tries again to write what is only in memory; true when nothing is left unwritten."""
        with self._guard:
            self._write()
            return self.trouble is None

    @property
    def unsaved(self) -> int:
        """How many events are in memory alone."""
        return len(self._unsaved)

    def records(self) -> tuple[Record, ...]:
        """All events with their numbers and wall times, those still unwritten included."""
        return tuple(self._records)

    def events(self) -> tuple[tuple[int, Event], ...]:
        """All events with their numbers, in order."""
        return tuple((record.number, record.event) for record in self._records)

    def finish(self, at_s: float) -> None:
        """The incident is over: it is not offered again at the next start. The file stays."""
        with self._guard:
            self._mark("finished", at_s, "")
            self._write()
        self.close()

    def close(self) -> None:
        """Lets go of the file; what could not be written is lost, and `trouble` said so before."""
        with self._guard:
            self._disconnect()
            self._lock.release()

    def __del__(self) -> None:
        """A journal that nobody holds any more lets go of its file too; Python 3.13 warns of connections left open."""
        if connection := getattr(self, "_connection", None):
            connection.close()

    def _held_by_another(self) -> bool:
        try:
            return not self._lock.take()
        except OSError:  # a read-only medium: nobody writes there, and `trouble` says so at the first write
            return False

    def _take(self, event: Event, text: str, wall: str) -> int:
        number, at_s = self._last + 1, float(event.at_s)
        kind: str = event.kind
        body: str | bytes = text
        if self._seal is not None:
            kind, body = "sealed", self._seal.sealed(number, text.encode())
        crc = row_crc(self._last_crc, number, kind, at_s, wall, body)
        self._unsaved.append((number, kind, at_s, wall, body, crc))
        self._records.append(Record(number=number, wall=wall, event=event))
        self._last, self._last_crc = number, crc
        return number

    def _mark(self, what: str, at_s: float, detail: str) -> None:
        self._unmarked.append((what, at_s, as_wall(self._now()), detail))

    def _go_on(self, stored: Stored) -> None:
        self._records = list(stored.records)
        self._last, self._last_crc = stored.last, stored.last_crc
        self.began, self.notices = stored.began, stored.notices
        for number in stored.dropped:
            self._mark("dropped", 0.0, str(number))
        self._mark("resumed", stored.records[-1].event.at_s if stored.records else 0.0, since_boot())
        self.retry()

    def _write(self) -> None:
        """Writes what is unwritten in one transaction, or leaves it all for the next time and says why."""
        try:
            connection = self._connection or self._connect()
            connection.execute("BEGIN IMMEDIATE")
            connection.executemany("INSERT INTO event VALUES (?, ?, ?, ?, ?, ?)", self._unsaved)
            connection.executemany(
                "INSERT INTO mark SELECT coalesce(max(number), 0) + 1, ?, ?, ?, ? FROM mark", self._unmarked
            )
            connection.execute("COMMIT")
        except (sqlite3.Error, OSError, JournalError) as error:
            self._disconnect()
            self.trouble = _told(error, self.unsaved)
        else:
            self._unsaved.clear()
            self._unmarked.clear()
            self.trouble = None

    def _connect(self) -> sqlite3.Connection:
        if not self.path.exists():
            self._make_file()
        if not self._lock.take():
            raise JournalError("another running assistant writes to it")
        connection = connected(self.path)
        try:
            bring_up_to_date(connection)
            self._leave_out_what_is_there(connection)
        except BaseException:
            connection.close()
            raise
        self._connection = connection
        return connection

    def _leave_out_what_is_there(self, connection: sqlite3.Connection) -> None:
        """A write that failed at its very end may be there after all once the file is opened again."""
        last, crc = connection.execute("SELECT max(number), crc FROM event").fetchone()
        there = [row for row in self._unsaved if row[0] <= (last or 0)]
        if there and (there[-1][0], there[-1][5]) != (last, crc):
            raise JournalError("another program has written to it")
        del self._unsaved[: len(there)]

    def _make_file(self) -> None:
        """Makes the file under another name and moves it into place whole, so that no half-made journal is found."""
        self.path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        made = self.path.with_name(f".{self.path.name}.{os.getpid()}.new")
        made.unlink(missing_ok=True)
        os.close(os.open(made, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
        connection = connected(made, mode="DELETE")
        try:
            lay_out(connection)
            connection.executemany("INSERT INTO incident VALUES (?, ?)", list(self._named().items()))
            connection.execute("PRAGMA journal_mode = WAL")
        finally:
            connection.close()
        made.rename(self.path)
        _sync_folder(self.path.parent)

    def _named(self) -> dict[str, str]:
        named = {"began": self.began, "kit": self.kit}
        if self._seal is not None:
            named |= {"seal_salt": self._seal.salt.hex(), "seal_proof": self._seal.proof.hex()}
        return named

    def _disconnect(self) -> None:
        connection, self._connection = self._connection, None
        if connection is not None:
            connection.close()


def _told(error: Exception, unsaved: int) -> str:
    why = (error.strerror if isinstance(error, OSError) else None) or str(error)
    kept = "1 entry is" if unsaved == 1 else f"{unsaved} entries are"
    return f"the record cannot be written ({why})" + (f"; {kept} kept in memory" if unsaved else "")


def connected(path: Path, *, mode: str = "WAL") -> sqlite3.Connection:
    """A connection for writing, each commit synchronised with the disk before it returns."""
    connection = sqlite3.connect(path, isolation_level=None, check_same_thread=False, timeout=5.0)
    connection.execute(f"PRAGMA journal_mode = {mode}")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA fullfsync = ON")  # macOS: fsync alone does not reach the medium there
    return connection


def _free_path(folder: Path, began: datetime) -> Path:
    stem = f"incident-{began.astimezone(timezone.utc):%Y%m%dT%H%M%SZ}"
    path, again = folder / f"{stem}.sqlite", 2
    while path.exists():
        path, again = folder / f"{stem}-{again}.sqlite", again + 1
    return path


def _sync_folder(folder: Path) -> None:
    """Makes the new name itself last; Windows keeps names without being asked and cannot open a folder."""
    if os.name == "nt":
        return
    handle: Any = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
