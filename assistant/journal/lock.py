"""One writer for each incident: a lock file beside the journal, held by the running assistant.

The system lets go of the lock when the process dies, however it dies.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

if sys.platform == "win32":
    import msvcrt

    def _seize(handle: int) -> None:
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _seize(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


class Lock:
    """The right to write to one journal."""

    def __init__(self, journal: Path) -> None:
        self.path = lock_of(journal)
        self._handle: int | None = None

    def take(self) -> bool:
        """Whether the lock is ours now; raises OSError where no lock file can be made."""
        if self._handle is not None:
            return True
        handle = os.open(self.path, os.O_CREAT | os.O_RDWR, 0o600)
        try:
            _seize(handle)
        except OSError:
            os.close(handle)
            return False
        self._handle = handle
        return True

    def release(self) -> None:
        """Lets go, and tidies the lock file away."""
        if self._handle is None:
            return
        self.path.unlink(missing_ok=True)
        os.close(self._handle)
        self._handle = None


def lock_of(journal: Path) -> Path:
    """The lock file beside the journal."""
    return journal.with_name(journal.name + ".lock")
