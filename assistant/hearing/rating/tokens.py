"""Text as the rating model's tokens: takes its vocabulary file and a line of text, gives token numbers.

Byte-pair encoding (Sennrich, Haddow and Birch 2016, "Neural machine translation of rare words with subword units"): of
the pairs that stand side by side, the one that was joined first in training is joined first. In this vocabulary, as in
others made by SentencePiece, that is the one with the lowest number.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from pathlib import Path

SPACE = "\N{LOWER ONE EIGHTH BLOCK}"
# After the tokens for the unknown, the beginning and the end come the 256 single bytes, for what the others lack.
_FIRST_BYTE, _AFTER_BYTES = 3, 259
_LONG = 0x80


class Tokens:
    """The vocabulary, and text in terms of it."""

    def __init__(self, vocabulary: list[bytes]) -> None:
        others = list(enumerate(vocabulary))[_AFTER_BYTES:]
        self._number = {token: number for number, token in reversed(others)}
        self._token = vocabulary
        self.of_word = lru_cache(maxsize=4096)(self._of_word)

    @classmethod
    def read(cls, file: Path) -> Tokens:
        """The vocabulary of a file: each token's length, of one byte or two, and the token. Raises OSError, ValueError
        where it is cut short."""
        return cls(_tokens(file.read_bytes()))

    def of(self, text: str) -> list[int]:
        """The numbers of the text's tokens; a character that the vocabulary lacks is its bytes."""
        return [number for word in text.split() for number in self.of_word(word)]

    def within(self, mark: str) -> list[int]:
        """The token of a mark that follows a word without a space; none where the vocabulary lacks it."""
        number = self._number.get(mark.encode())
        return [] if number is None else [number]

    def text(self, numbers: list[int]) -> str:
        """The text of the tokens with these numbers."""
        joined = b"".join(self._token[number] for number in numbers)
        return joined.decode("utf-8", "replace").replace(SPACE, " ").strip()

    def _of_word(self, word: str) -> tuple[int, ...]:
        parts = [self._number.get(sign.encode(), sign.encode()) for sign in SPACE + word]
        numbers = [n for part in parts for n in ([part] if isinstance(part, int) else [_FIRST_BYTE + b for b in part])]
        while len(numbers) > 1:
            joined = [self._number.get(self._token[a] + self._token[b]) for a, b in pairwise(numbers)]
            ranked = [(number, at) for at, number in enumerate(joined) if number is not None]
            if not ranked:
                break
            number, at = min(ranked)
            numbers[at : at + 2] = [number]
        return tuple(numbers)


def _tokens(content: bytes) -> list[bytes]:
    found: list[bytes] = []
    at = 0
    while at < len(content):
        length = content[at]
        at += 1
        if length >= _LONG:
            length = length - _LONG + _LONG * content[at]
            at += 1
        if at + length > len(content):
            raise ValueError(f"the vocabulary ends within a token, after {len(found)}")
        found.append(content[at : at + length])
        at += length
    return found
