"""Gives memory that is no longer used back to the system, where the C library would keep it for later."""

from __future__ import annotations

import ctypes
from functools import cache
from typing import Any


def give_back_memory() -> None:
    """Takes some milliseconds; does nothing where the C library has no such call (glibc has: malloc_trim)."""
    trim = _trim()
    if trim is not None:
        trim(0)


@cache
def _trim() -> Any:
    try:
        return ctypes.CDLL(None).malloc_trim
    except (OSError, AttributeError, TypeError):
        return None
