"""The folder of incidents: which are there, which may be resumed, and how one is forgotten."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import platformdirs

from assistant.journal.lock import Lock, lock_of
from assistant.journal.reading import JournalError, found_version, opened_to_read, read_marks, wal_of


@dataclass(frozen=True, slots=True, kw_only=True)
class IncidentFile:
    """A journal file at a glance. `trouble` says why it cannot be read; then the rest is empty.

    `began` and `last_wall` are ISO wall times, `last_at_s` the incident's clock at the last record.
    """

    path: Path
    began: str = ""
    last_wall: str = ""
    last_at_s: float = 0.0
    events: int = 0
    sealed: bool = False
    finished: bool = False
    in_use: bool = False
    trouble: str | None = None


def default_folder() -> Path:
    """Where incidents are kept unless the user says otherwise: the user's own data folder."""
    return platformdirs.user_data_path("oxygen-assistant") / "incidents"


def incidents(folder: Path) -> tuple[IncidentFile, ...]:
    """Every journal in the folder, the latest first; those that cannot be read say so."""
    paths = sorted(folder.glob("incident-*.sqlite"), reverse=True) if folder.is_dir() else []
    return tuple(_glanced_at(path) for path in paths)


def open_incidents(folder: Path) -> tuple[IncidentFile, ...]:
    """The incidents that were not brought to their end and that nobody is writing to now, the latest first."""
    return tuple(each for each in incidents(folder) if each.trouble is None and not each.finished and not each.in_use)


def forget(path: Path) -> tuple[Path, ...]:
    """Removes an incident's files and gives their paths; raises JournalError for a file that is none of ours.

    Removing does not wipe the medium: a sealed incident is the answer where that matters.
    """
    if path.exists():
        with opened_to_read(path) as connection:
            found_version(connection, path)
    lock = Lock(path)
    if not lock.take():
        raise JournalError(f"{path}: this incident is open in a running assistant")
    there = [each for each in (path, wal_of(path), path.with_name(path.name + "-shm")) if each.exists()]
    for each in there:
        each.unlink()
    lock.release()
    return tuple(there)


def _glanced_at(path: Path) -> IncidentFile:
    try:
        with opened_to_read(path) as connection:
            marks = read_marks(connection, found_version(connection, path))
            named = dict(connection.execute("SELECT name, value FROM incident"))
            events, last_at_s, last_wall = connection.execute("SELECT max(number), at_s, wall FROM event").fetchone()
    except JournalError as error:
        return IncidentFile(path=path, trouble=str(error))
    return IncidentFile(
        path=path,
        began=named.get("began", ""),
        last_wall=last_wall or "",
        last_at_s=last_at_s or 0.0,
        events=events or 0,
        sealed="seal_salt" in named,
        in_use=_in_use(path),
        finished=any(mark.what == "finished" for mark in marks),
    )


def _in_use(path: Path) -> bool:
    if not lock_of(path).exists():
        return False
    lock = Lock(path)
    try:
        free = lock.take()
    except OSError:
        return False
    lock.release()
    return not free
