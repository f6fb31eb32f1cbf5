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
    """Phrases for the grammar's slots: the carrier's words, sizes spelled letter by letter, and sizes as written.

    The last can only be typed; a size with a numeral of its own ("2 L") is left out, so that "2 L" stays a flow.
    """
    called = tuple(dict.fromkeys((*_called(kit), *_alphabet(kit))))
    spelled = tuple(name for name in _spelled(kit) if name not in called)
    written = tuple(name for name in _written(kit) if name not in (*called, *spelled))
    return {"cylinder_name": called, "size_letter": spelled, "size_written": written}


def sizes_by_name(kit: Kit) -> Mapping[str, str]:
    """Size of each name, lower case; where two sizes have a name in common, the carrier's own words go first."""
    return {**_written(kit), **_spelled(kit), **_alphabet(kit), **_called(kit)}


def _called(kit: Kit) -> dict[str, str]:
    return {name.lower(): cylinder.size for cylinder in kit.cylinders for name in cylinder.called}


def _alphabet(kit: Kit) -> dict[str, str]:
    """The spelling alphabet's word of each size that is one letter."""
    return {SPELLING_ALPHABET[ord(letters) - ord("a")]: size for letters, size in _letters(kit) if len(letters) == 1}


def _spelled(kit: Kit) -> dict[str, str]:
    """ "c d" for a size CD."""
    return {" ".join(letters): size for letters, size in _letters(kit)}


def _letters(kit: Kit) -> list[tuple[str, str]]:
    """Sizes of one to three letters: the letters in lower case, and the size."""
    sizes = (cylinder.size for cylinder in kit.cylinders)
    return [(size.lower(), size) for size in sizes if len(size) <= 3 and size.isascii() and size.isalpha()]


def _written(kit: Kit) -> dict[str, str]:
    """The sizes as the kit writes them, save those with a word that is a numeral."""
    sizes = [cylinder.size for cylinder in kit.cylinders]
    return {size.lower(): size for size in sizes if not any(word[0].isdigit() for word in size.split())}
