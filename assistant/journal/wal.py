"""Looks at the end of a write-ahead log that a crash left behind: was a record cut off half-way?

SQLite drops such a record by itself, without a word; here it is only noticed, so that it can be said. The layout is
that of "The Database File Format", section 4 (https://www.sqlite.org/fileformat2.html#walformat).
"""

from __future__ import annotations

import struct
from pathlib import Path
from typing import BinaryIO

_HEADER_BYTES = 32
_FRAME_HEADER_BYTES = 24
_BIG_ENDIAN_SUMS = 0x377F0683


def ends_in_an_unfinished_record(wal: Path) -> bool:
    """Whether the log holds the beginning of a transaction whose end never reached the disk."""
    try:
        with wal.open("rb") as file:
            return _unfinished(file)
    except FileNotFoundError:
        return False


def _unfinished(file: BinaryIO) -> bool:
    header = file.read(_HEADER_BYTES)
    if len(header) < _HEADER_BYTES:
        return len(header) > 0
    magic, _, page_bytes, _, *salts = struct.unpack(">6I", header[:24])
    frame_bytes = _FRAME_HEADER_BYTES + page_bytes
    commits = _frames(file, frame_bytes, struct.pack(">2I", *salts))
    if not commits:
        return False
    if not commits[-1]:
        return True
    # The last transaction looks whole; its checksums tell whether its pages got there too.
    first = len(commits) - 1
    while first and not commits[first - 1]:
        first -= 1
    order = ">" if magic == _BIG_ENDIAN_SUMS else "<"
    return not all(_sums_agree(file, header, index, frame_bytes, order) for index in range(first, len(commits)))


def _frames(file: BinaryIO, frame_bytes: int, salts: bytes) -> list[bool]:
    """For each frame of the log's present run, whether it ends a transaction; a cut-off one does not."""
    commits: list[bool] = []
    while True:
        file.seek(_HEADER_BYTES + len(commits) * frame_bytes)
        frame = file.read(frame_bytes)
        if len(frame) < frame_bytes:
            return [*commits, False] if frame else commits
        if frame[8:16] != salts:  # left over from an earlier run of the log
            return commits
        commits.append(frame[4:8] != b"\0\0\0\0")


def _sums_agree(file: BinaryIO, header: bytes, index: int, frame_bytes: int, order: str) -> bool:
    """Whether the frame's checksum follows from the one before it."""
    if index:
        file.seek(_HEADER_BYTES + (index - 1) * frame_bytes + 16)
        before = struct.unpack(">2I", file.read(8))
    else:
        before = struct.unpack(">2I", header[24:32])
    file.seek(_HEADER_BYTES + index * frame_bytes)
    frame = file.read(frame_bytes)
    summed = frame[:8] + frame[_FRAME_HEADER_BYTES:]
    return _sums(summed, before[0], before[1], order) == struct.unpack(">2I", frame[16:24])


def _sums(content: bytes, first: int, second: int, order: str) -> tuple[int, int]:
    words = struct.unpack(f"{order}{len(content) // 4}I", content)
    for even, odd in zip(words[::2], words[1::2], strict=True):
        first = (first + even + second) & 0xFFFFFFFF
        second = (second + odd + first) & 0xFFFFFFFF
    return first, second
