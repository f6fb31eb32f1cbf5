"""The kit's own words for its cylinders: which phrases fill the grammar's slots, and which size each one means."""

from __future__ import annotations

from collections.abc import Mapping

from assistant.oxygen.kit import Kit

SPELLING_ALPHABET = (
    "alpha", "bravo", "charlie", "delta", "echo", "foxtrot", "golf", "hotel", "india", "juliet", "kilo", "lima", "mike",
    "november", "oscar", "papa", "quebec", "romeo", "sierra", "tango", "uniform", "victor", "whiskey", "x ray",
    "yankee", "zulu",
)  # fmt: skip
"""ICAO Annex 10, volume II, 5.2.1.3, with "alpha", "juliet" and "x ray" as the recognisers spell them."""


def slots(kit: Kit) -> Mapping[str, tuple[str, ...]]:
    """Phrases for the grammar's slots: what the sizes are called, and the letters of those that have one."""
    letters = tuple(size.lower() for size in _lettered(kit))
    return {"cylinder_name": tuple(name for name in sizes_by_name(kit) if name not in letters), "size_letter": letters}


def sizes_by_name(kit: Kit) -> Mapping[str, str]:
    """Size of each name, lower case: the carrier's words, the sizes themselves, and their letters' alphabet words."""
    found: dict[str, str] = {}
    for cylinder in kit.cylinders:
        for name in cylinder.called:
            found.setdefault(name.lower(), cylinder.size)
    for cylinder in kit.cylinders:
        found.setdefault(cylinder.size.lower(), cylinder.size)
    for size in _lettered(kit):
        found.setdefault(SPELLING_ALPHABET[ord(size.lower()) - ord("a")], size)
    return found


def _lettered(kit: Kit) -> tuple[str, ...]:
    return tuple(c.size for c in kit.cylinders if len(c.size) == 1 and c.size.isascii() and c.size.isalpha())
