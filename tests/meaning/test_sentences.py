"""Every sentence of tests/sentences means what stands beside it, and what can be said is in the spoken language."""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from assistant.grammar import Grammar
from assistant.grammar.acceptor import Acceptor
from assistant.meaning.contract import to_json
from assistant.meaning.typed import typed
from assistant.meaning.understand import understand
from assistant.oxygen.kit import Kit

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

SENTENCES = Path(__file__).parents[1] / "sentences"


def cases(column: str) -> Iterator[Any]:
    for file in sorted(SENTENCES.glob("*.toml")):
        for case in tomllib.loads(file.read_text(encoding="utf-8"))["case"]:
            for sentence in case.get(column, ()):
                yield pytest.param(sentence, case["means"], id=f"{file.stem}: {sentence}")


@pytest.mark.parametrize(("sentence", "means"), [*cases("said"), *cases("typed")])
def test_a_sentence_means_what_stands_beside_it(sentence: str, means: list[Any], grammar: Grammar, kit: Kit) -> None:
    readings = understand(typed(sentence, grammar), grammar, kit)
    assert [to_json(meaning) for meaning in (readings[0].meanings if readings else ())] == means


@pytest.fixture(scope="session")
def heard(ears: Acceptor) -> Callable[[str], bool]:
    """Whether the recogniser's acceptor takes a sentence: its arcs followed, the silent ones ("") too."""
    leads: dict[tuple[int, str], set[int]] = defaultdict(set)
    for source, word, _, target in ears.arcs:
        leads[source, word].add(target)

    def silently(states: set[int]) -> set[int]:
        more = {target for state in states for target in leads.get((state, ""), ())}
        return states if more <= states else silently(states | more)

    def accepted(sentence: str) -> bool:
        states = silently({ears.start})
        for word in sentence.split():
            states = silently({target for state in states for target in leads.get((state, word), ())})
        return bool(states & set(ears.finals))

    return accepted


@pytest.mark.parametrize("sentence", [case.values[0] for case in cases("said")])
def test_what_is_said_is_in_the_language_the_recogniser_listens_for(
    sentence: str, heard: Callable[[str], bool]
) -> None:
    assert heard(sentence)
