"""How utterances may go on, ready at once: the grammar's continuations, kept in the cache.

Takes a grammar, gives its Continuations; a cache that cannot be used is no error, it is built anew.
"""

from __future__ import annotations

import json
import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assistant.grammar.continuation import Continuations
from assistant.hearing.cache import cache_folder

if TYPE_CHECKING:
    from assistant.grammar import Grammar

LAYOUT = 1
KEPT = 8


def continuations_of(grammar: Grammar) -> Continuations:
    """The continuations of the grammar's sentences, other talk left out."""
    place = cache_folder() / "continuations" / f"{LAYOUT}-{grammar.digest[:24]}.json"
    kept = _kept(place)
    if kept is not None:
        return kept
    acceptor = grammar.acceptor(unk_cost=None)
    _keep(place, {"arcs": acceptor.arcs, "start": acceptor.start, "finals": list(acceptor.finals.items())})
    return Continuations(acceptor.arcs, acceptor.start, acceptor.finals)


def _kept(place: Path) -> Continuations | None:
    try:
        found = json.loads(place.read_text(encoding="utf-8"))
        return Continuations(map(tuple, found["arcs"]), found["start"], dict(found["finals"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _keep(place: Path, table: dict[str, Any]) -> None:
    """Written aside and renamed, so that nobody reads half of it; without room it is built anew next time."""
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        handle, aside = tempfile.mkstemp(dir=place.parent, prefix=".unfinished-")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            json.dump(table, file)
        os.replace(aside, place)
        for old in sorted(place.parent.glob("*.json"), key=lambda each: each.stat().st_mtime, reverse=True)[KEPT:]:
            old.unlink(missing_ok=True)
    except OSError:
        return
