"""The record of an incident: events appended to a file of their own, read back, resumed and forgotten.

`Journal.create(folder)` begins one, `open_incidents(folder)` finds what was cut short, `Journal.open(path)` goes on
with it, `read(path)` only looks. See schema.py for the file's layout.
"""

from assistant.incident.record import Record
from assistant.journal.clock import ResumedClock, resumed_clock, since_boot
from assistant.journal.folder import IncidentFile, default_folder, forget, incidents, open_incidents
from assistant.journal.journal import Journal
from assistant.journal.reading import JournalError, Mark, Stored, read

__all__ = [
    "IncidentFile",
    "Journal",
    "JournalError",
    "Mark",
    "Record",
    "ResumedClock",
    "Stored",
    "default_folder",
    "forget",
    "incidents",
    "open_incidents",
    "read",
    "resumed_clock",
    "since_boot",
]
