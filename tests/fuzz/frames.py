"""What a browser might send over the socket and should not: frames for hypothesis to make up, near the right ones."""

from __future__ import annotations

import json

from hypothesis import strategies as st

from assistant.screens.web.hub import HIGHEST_RATE_HZ, LONGEST_TEXT, LOWEST_RATE_HZ

_ATOMS = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=40)
_VALUES = st.recursive(
    _ATOMS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=8,
)
_TYPES = st.sampled_from(["text", "talk", "hush", "hello", "TEXT", ""]) | _VALUES
_SAID = st.sampled_from(["sats ninety four", "note \ud800 märsh", "gauge reads ١٥٠٠", "x" * (LONGEST_TEXT + 1), " "])
_RATES = st.sampled_from([LOWEST_RATE_HZ, HIGHEST_RATE_HZ, LOWEST_RATE_HZ - 1, 16_000, -1]) | _VALUES
_FIELDS = {"text": _SAID | _VALUES, "on": st.booleans() | _VALUES, "rate": _RATES, "drop": st.booleans() | _VALUES}
_MESSAGES = st.fixed_dictionaries({"type": _TYPES}, optional=_FIELDS).map(json.dumps)

FRAMES = st.lists(
    st.one_of(
        _MESSAGES,
        _VALUES.map(json.dumps),
        st.text(st.characters(exclude_categories=["Cs"]), max_size=80),
        _MESSAGES.flatmap(lambda whole: st.integers(0, len(whole)).map(lambda end: whole[:end])),
        st.sampled_from(["[" * 5_000, '{"type": "text", "text": ' + "9" * 5_000 + "}", '{"type": NaN}']),
        st.binary(max_size=64),
    ),
    min_size=1,
    max_size=60,
)
"""Frames of one connection in their order: text frames are str, binary ones bytes."""
