"""The microphone's level as a bar of plain characters, which shows at a glance whether it hears anything."""

from __future__ import annotations

QUIET_DBFS, LOUD_DBFS = -65.0, -5.0
WIDTH = 10


def level_bar(level_dbfs: float, *, width: int = WIDTH) -> str:
    """Something like "[####......]"; a "!" at the end where it is so loud that speech is clipped."""
    share = (level_dbfs - QUIET_DBFS) / (LOUD_DBFS - QUIET_DBFS)
    full = max(0, min(width, round(share * width)))
    bar = "#" * full + "." * (width - full)
    return f"[{bar[:-1]}!]" if level_dbfs >= LOUD_DBFS else f"[{bar}]"
