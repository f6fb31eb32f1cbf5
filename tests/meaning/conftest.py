"""The grammar as it is shipped, with the default kit's words in it."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.grammar import Grammar, load_grammar
from assistant.grammar.acceptor import Acceptor
from assistant.meaning.names import slots
from assistant.oxygen.kit import Kit, default_kit

GRAMMAR_FILES = Path(__file__).parents[2] / "grammars" / "en"


@pytest.fixture(scope="session")
def grammar_texts() -> dict[str, str]:
    return {path.name: path.read_text(encoding="utf-8") for path in sorted(GRAMMAR_FILES.glob("*.jsgf"))}


@pytest.fixture(scope="session")
def kit() -> Kit:
    return default_kit()


@pytest.fixture(scope="session")
def grammar(grammar_texts: dict[str, str], kit: Kit) -> Grammar:
    return load_grammar(grammar_texts, slots(kit))


@pytest.fixture(scope="session")
def ears(grammar: Grammar) -> Acceptor:
    """What the recogniser listens for, without the other talk beside it."""
    return grammar.acceptor(unk_cost=None)
