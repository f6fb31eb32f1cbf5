"""The record of a live incident: begun anew or resumed where it was cut short, and its trouble told once.

Takes the options `--record` and `--new`; gives the journal with what stands in it and where its clock stands.
"""

from __future__ import annotations

import os
from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from getpass import getpass
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.commands.opening import UserError
from assistant.incident.events import Event
from assistant.journal import Journal, JournalError, default_folder, open_incidents, read, resumed_clock, since_boot

if TYPE_CHECKING:
    from assistant.journal import IncidentFile

# An incident that nobody wrote to for longer is not gone on with unasked (our choice): a cylinder in use is told of
# within minutes, and an old patient's supply must not be taken for the next one's.
RESUMED_WITHIN = timedelta(hours=12)
TROUBLE_SAID = "The record cannot be written. Entries are kept in memory."
PASSPHRASE_VARIABLE = "OXYGEN_ASSISTANT_PASSPHRASE"
MENDED_SAID = "The record is being written again."

Tell = Callable[[str, str], None]
"""Shows the first text and speaks the second."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Recording:
    """The journal of this sitting, where the incident's clock stands, and what to tell the user first.

    `kit_toml` is the kit that the incident was begun with, "" where it is the default one or the incident is new.
    """

    journal: Journal
    began_s: float = 0.0
    kit_toml: str = ""
    resumed: bool = False
    notices: tuple[str, ...] = ()

    @property
    def events(self) -> tuple[Event, ...]:
        """What stood in the record when it was opened."""
        return tuple(event for _, event in self.journal.events())


def add_record_options(parser: ArgumentParser, *, live: bool = True) -> None:
    """`--record` and, where an incident can be gone on with, `--new`."""
    usual = " (default: the user's own data folder)" if live else ""
    parser.add_argument("--record", type=Path, metavar="DIR", help=f"keep the incident's record in DIR{usual}")
    locked = f"encrypt the record with a passphrase, asked for or taken from {PASSPHRASE_VARIABLE}"
    parser.add_argument("--locked", action="store_true", help=locked)
    if live:
        parser.add_argument("--new", action="store_true", help="begin a new incident; do not go on with an open one")


def passphrase_from(args: Namespace) -> str | None:
    """The passphrase where `--locked` was given: from the environment, or asked for on the terminal."""
    if not args.locked:
        return None
    return os.environ.get(PASSPHRASE_VARIABLE) or getpass("Passphrase of the record: ")


def opened_record(args: Namespace, *, kit_toml: str = "", now: datetime | None = None) -> Recording:
    """The incident to go on with, or a new one. That it cannot be written is no error: `journal.trouble` says so."""
    folder = args.record or default_folder()
    moment = now or datetime.now(timezone.utc)
    passphrase = passphrase_from(args)
    if not args.new:
        found = [each for each in open_incidents(folder) if each.sealed == args.locked]
        recent = next((each for each in found if moment - _last_written(each) <= RESUMED_WITHIN), None)
        if recent is not None:
            return _resumed(recent.path, moment, passphrase)
        if found:
            old = f"An incident of {found[0].began[:10]} was never ended; a new one begins. Its record: {found[0].path}"
            return Recording(journal=_created(folder, kit_toml, passphrase), notices=(old,))
    return Recording(journal=_created(folder, kit_toml, passphrase))


def new_record(folder: Path, *, kit_toml: str = "", passphrase: str | None = None) -> Journal:
    """A new incident's journal; raises UserError where it cannot be written, as a file was asked for by name."""
    journal = _created(folder, kit_toml, passphrase)
    if journal.trouble:
        raise UserError(f"{folder}: {journal.trouble}")
    return journal


def _created(folder: Path, kit_toml: str, passphrase: str | None) -> Journal:
    try:
        return Journal.create(folder, kit=kit_toml, passphrase=passphrase)
    except JournalError as error:
        raise UserError(str(error)) from error


def _resumed(path: Path, moment: datetime, passphrase: str | None) -> Recording:
    try:
        stored = read(path, passphrase=passphrase)
        clock = resumed_clock(stored, wall=moment, boot=since_boot())
        journal = Journal.open(path, passphrase=passphrase)
    except JournalError as error:
        raise UserError(f"{error}; --new begins a new incident") from error
    since_min = int(clock.at_s // 60)
    told = f"Going on with the incident that began {since_min} minutes ago. --new begins another."
    notices = (told, *journal.notices, *((clock.notice,) if clock.notice else ()))
    return Recording(journal=journal, began_s=clock.at_s, kit_toml=stored.kit, resumed=True, notices=notices)


def _last_written(file: IncidentFile) -> datetime:
    return datetime.fromisoformat(file.last_wall or file.began)


class TellingRecord:
    """The journal as the session's record: that it fails, or works again, is told once, on screen and by voice."""

    def __init__(self, journal: Journal, tell: Tell) -> None:
        self._journal = journal
        self._tell = tell
        self._in_trouble = False

    def append(self, events: Sequence[Event]) -> tuple[int, ...]:
        """The events' numbers; on the disk, or in memory with the user told."""
        numbers = self._journal.append(events)
        self.tell_changes()
        return numbers

    def tell_changes(self) -> None:
        """Tells where writing has begun to fail, or to work again, since the last call."""
        trouble = self._journal.trouble
        if trouble and not self._in_trouble:
            self._tell(f"{trouble[:1].upper()}{trouble[1:]}.", TROUBLE_SAID)
        elif self._in_trouble and not trouble:
            self._tell(MENDED_SAID, MENDED_SAID)
        self._in_trouble = bool(trouble)
