"""The incident's clock across a restart: where `at_s` stands now, from what the journal last wrote.

Where the machine was not restarted meanwhile, the time since its boot tells it, which no setting of the wall clock
moves; otherwise the wall clock does. It never goes backwards.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from assistant.journal.reading import Stored

_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")


@dataclass(frozen=True, slots=True, kw_only=True)
class ResumedClock:
    """`at_s` now, and in `notice`, where the clocks cannot be trusted, what to tell the user ("" where they can)."""

    at_s: float
    notice: str = ""


def since_boot() -> str:
    """The boot and the seconds since it, sleep included, as a mark keeps them; "" where the system cannot tell."""
    clock = getattr(time, "CLOCK_BOOTTIME", None)
    if clock is None or not _BOOT_ID.exists():
        return ""
    return f"{_BOOT_ID.read_text().strip()} {time.clock_gettime(clock):.3f}"


def resumed_clock(stored: Stored, *, wall: datetime, boot: str) -> ResumedClock:
    """Where the incident's clock stands at `wall`; `boot` is `since_boot()` of the same moment."""
    last_at_s = stored.records[-1].event.at_s if stored.records else 0.0
    sitting = next((mark for mark in reversed(stored.marks) if mark.what in ("begun", "resumed")), None)
    if sitting is not None and sitting.detail and boot.split()[:1] == sitting.detail.split()[:1]:
        passed_s = float(boot.split()[1]) - float(sitting.detail.split()[1])
        return ResumedClock(at_s=max(last_at_s, sitting.at_s + passed_s))
    last_wall = stored.records[-1].wall if stored.records else stored.began
    passed_s = (wall - datetime.fromisoformat(last_wall)).total_seconds()
    if passed_s < 0:
        return ResumedClock(
            at_s=last_at_s,
            notice="The clock of this machine was set back while the record was closed: read the gauge again.",
        )
    return ResumedClock(at_s=last_at_s + passed_s)
