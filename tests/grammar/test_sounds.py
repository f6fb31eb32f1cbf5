"""Words that lend their sound: read with file and line, refused where they would stand for two things."""

import pytest

from assistant.grammar import GrammarError, load_grammar, read_sounds

FILES = {
    "main.jsgf": """#JSGF V1.0 UTF-8 en;
grammar main;
public <utterance> = two litres | too many;
"""
}


def test_the_list_is_read() -> None:
    assert read_sounds('litres = ["liters", "leaters"]\n', file="s.toml") == {"litres": ("liters", "leaters")}
    assert read_sounds("", file="s.toml") == {}


@pytest.mark.parametrize(
    ("text", "line"),
    [('litre = ["liter"]\nlitres = "liters"\n', 2), ("litres = []\n", 1), ("litres = [1]\n", 1), ("litres\n", 1)],
)
def test_what_is_no_list_is_refused_with_its_line(text: str, line: int) -> None:
    with pytest.raises(GrammarError, match=rf"^s\.toml:{line}: "):
        read_sounds(text, file="s.toml")


@pytest.mark.parametrize(
    "sounds", [{"two": ("too",)}, {"litres": ("liters",), "many": ("liters",)}], ids=["own word", "lent twice"]
)
def test_a_word_that_would_stand_for_two_things_is_refused(sounds: dict[str, tuple[str, ...]]) -> None:
    with pytest.raises(GrammarError, match="sounds of"):
        load_grammar(FILES, {}, sounds=sounds)


def test_the_digest_tells_which_sounds_were_lent() -> None:
    assert load_grammar(FILES, {}).digest != load_grammar(FILES, {}, sounds={"litres": ("liters",)}).digest
