"""The incident's clock after a restart: it counts the time that passed, and never goes backwards."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from assistant.incident import events as ev
from assistant.journal import Journal, Stored, read, resumed_clock
from assistant.journal import journal as journal_module

BOOT = "11111111-2222-3333-4444-555555555555"


@pytest.fixture
def stored(folder: Path, wall_clock: object, monkeypatch: pytest.MonkeyPatch) -> Stored:
    """Begun 1000 s after the boot; the last event at 60 s, by both clocks."""
    monkeypatch.setattr(journal_module, "since_boot", lambda: f"{BOOT} 1000.000")
    journal = Journal.create(folder, now=wall_clock)  # type: ignore[arg-type]
    wall_clock.turn(60)  # type: ignore[attr-defined]
    journal.append([ev.FlowSet(at_s=60.0, patient="1", flow_l_min=15.0)])
    journal.close()
    return read(journal.path)


def at(text: str) -> datetime:
    return datetime.fromisoformat(f"2031-05-04T{text}+00:00")


@pytest.mark.parametrize(
    ("wall", "boot", "at_s"),
    [
        (at("09:31:40"), f"{BOOT} 1100.000", 100.0),  # killed and started again
        (at("08:31:40"), f"{BOOT} 1100.000", 100.0),  # the wall clock was set back an hour meanwhile
        (at("10:31:40"), f"{BOOT} 1100.000", 100.0),  # and forward
        (at("09:31:40"), "other-boot 5.000", 100.0),  # the battery was changed
        (at("09:31:40"), "", 100.0),  # a system that cannot tell
        (at("09:30:59.500"), f"{BOOT} 1059.500", 60.0),  # never before the last event
    ],
)
def test_the_clock_goes_on_by_the_time_that_passed(stored: Stored, wall: datetime, boot: str, at_s: float) -> None:
    clock = resumed_clock(stored, wall=wall, boot=boot)
    assert clock.at_s == pytest.approx(at_s)
    assert clock.notice == ""


def test_a_clock_set_back_over_a_restart_is_told_of(stored: Stored) -> None:
    clock = resumed_clock(stored, wall=at("08:31:40"), boot="other-boot 5.000")
    assert clock.at_s == 60.0
    assert "read the gauge again" in clock.notice
