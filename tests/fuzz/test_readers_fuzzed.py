"""The readers of files and lines take what is whole, and of bent bytes make a result or one clear line."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.fuzz.bending import bent
from tests.fuzz.readers import Reader, misread, readers

READERS = {reader.name: reader for reader in readers()}
BENT_EACH = {"procedure": 20, "grammar": 20, "kit": 60}


@pytest.mark.parametrize("reader", READERS.values(), ids=READERS.keys())
def test_whole_examples_are_read(reader: Reader) -> None:
    assert [reader.read(whole) for whole in reader.whole]


@pytest.mark.parametrize("reader", READERS.values(), ids=READERS.keys())
def test_bent_ones_are_read_or_refused_in_one_line(reader: Reader) -> None:
    @settings(max_examples=BENT_EACH.get(reader.name, 80), derandomize=True)
    @given(st.sampled_from(reader.whole), st.integers(0, 2**32), st.binary(max_size=20))
    def check(whole: bytes, seed: int, tail: bytes) -> None:
        content = bent(whole, Random(seed)) + tail
        assert misread(reader, content) is None, content

    check()


def test_a_reader_that_fails_is_found() -> None:
    broken = Reader(name="broken", read=lambda content: content[10], errors=(ValueError,), whole=(b"",))
    assert misread(broken, b"") == "IndexError: index out of range"
    quiet = Reader(name="quiet", read=int, errors=(ValueError,), whole=(b"1",))
    assert misread(quiet, b"1") is None
    assert misread(quiet, b"a\nb") is None
