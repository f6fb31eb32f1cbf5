"""What travels with the package: grammars, procedures, pronunciations and the demo's recordings.

In an installed copy they lie inside the package, in a checkout beside it. Reads only; refuses a copy that lacks them.
"""

from __future__ import annotations

from pathlib import Path

SOUNDS = "sounds.toml"


class ShelfError(Exception):
    """A part of the package is missing; the message is one line."""


def _place(name: str) -> Path:
    here = Path(__file__).parent
    for folder in (here / "_shipped" / name, here.parent / name):
        if folder.is_dir():
            return folder
    raise ShelfError(f"this copy of the package lacks {name}/: install it again")


def grammar_texts(language: str = "en") -> dict[str, str]:
    """The grammar files of a language, by name."""
    return _texts(_place("grammars") / language, "*.jsgf")


def said_sentences(language: str = "en") -> tuple[str, ...]:
    """Sentences that people say to the assistant, to learn from what is likely; none where the language has none."""
    path = _place("grammars") / language / "said.txt"
    lines = path.read_text(encoding="utf-8").splitlines() if path.is_file() else []
    return tuple(line for line in lines if line and not line.startswith("#"))


def sounds(language: str = "en") -> str:
    """Which other words the recogniser may take for a word of the grammar, as TOML; "" where the language has none."""
    path = _place("grammars") / language / SOUNDS
    return path.read_text(encoding="utf-8") if path.is_file() else ""


def procedure_texts() -> dict[str, str]:
    """The procedure files, by name."""
    return _texts(_place("grammars") / "procedures", "*.toml")


def pronunciations(language: str = "en") -> str:
    """How the words are said that the fallback recogniser's dictionary lacks."""
    return (_place("grammars") / language / "pronunciations.txt").read_text(encoding="utf-8")


def demo_script() -> Path:
    """The demo's conversation, as input of `replay`, with its recordings beside it."""
    return _place("audio_samples") / "demo" / "demo.jsonl"


def _texts(folder: Path, pattern: str) -> dict[str, str]:
    texts = {path.name: path.read_text(encoding="utf-8") for path in sorted(folder.glob(pattern))}
    if not texts:
        raise ShelfError(f"this copy of the package lacks {pattern} files in {folder.name}/: install it again")
    return texts
