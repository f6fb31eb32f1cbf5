"""Bytes that were whole, bent: cut, flipped, doubled, exchanged, with absurd numbers and foreign pieces put in."""

from __future__ import annotations

import re
from random import Random

PIECES = (
    *(b"", b"\x00", b"\xff\xff\xff\xff", b"\x80", b"\r\n", b"\n\n", b'"', b"'''", b"\\u0000"),
    *(b"[", b"[[", b"]", b"{}", b"=", b"#", b"[[[[[[[[", b"|", b"(", b"/0/", b"<x>", b"<NULL>", b"import <x.*>;"),
    *(b"nan", b"inf", b"-1", b"1e999", b"9" * 400, b"0", b"-0.0", b"true", b"null", "½".encode()),
    *(b'"200"', b'"200 psi"', b"1979-05-27", b"\xef\xbb\xbf", b"\x7f\xff\xff\xff"),
)
_NUMERAL = re.compile(rb"\d+")


def bent(whole: bytes, random: Random) -> bytes:
    """`whole` with one to four changes, or now and then nothing but random bytes."""
    if random.random() < 0.02:
        return random.randbytes(random.randrange(400))
    content = bytearray(whole)
    for _ in range(random.choice((1, 1, 2, 4))):
        _changed(content, random)
    return bytes(content)


def _changed(content: bytearray, random: Random) -> None:
    at = random.randrange(len(content) + 1)
    end = min(len(content), at + random.choice((1, 1, 2, 4, 16, 200)))
    change = random.randrange(7)
    if change == 0:
        del content[at:end]
    elif change == 1:
        content[at:end] = random.randbytes(end - at)
    elif change == 2:
        content[at:at] = random.choice(PIECES)
    elif change == 3:
        content[at:at] = content[at:end] * random.choice((1, 2, 50))
    elif change == 4:
        del content[at:]
    elif change == 5 and content:
        content[min(at, len(content) - 1)] ^= 1 << random.randrange(8)
    else:
        numerals = list(_NUMERAL.finditer(content))
        if numerals:
            found = random.choice(numerals)
            content[found.start() : found.end()] = random.choice(PIECES)
