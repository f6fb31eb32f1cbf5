"""Python's garbage collector, kept from looking while very many objects are made of which none is garbage."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def no_collector() -> Iterator[None]:
    """No garbage collection meanwhile; afterwards as it was before."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
