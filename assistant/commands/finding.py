"""What `check` finds out about one part of the machine."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One part: whether it works, what was found, and what to do where it does not."""

    part: str
    ok: bool
    found: str
    cure: str = ""
