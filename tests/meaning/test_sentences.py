"""Every sentence of tests/sentences means what stands beside it, and what can be said is in the spoken language."""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

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


class Case(NamedTuple):
    """Sentences that can be said, sentences that can only be typed, and what all of them mean."""

    said: tuple[str, ...]
    typed: tuple[str, ...]
    means: list[dict[str, Any]]


def cases() -> Iterator[Any]:
    for file in sorted(SENTENCES.glob("*.toml")):
        for row in tomllib.loads(file.read_text(encoding="utf-8"))["case"]:
            case = Case(tuple(row.get("said", ())), tuple(row.get("typed", ())), row["means"])
            yield pytest.param(case, id=f"{file.stem}: {(case.said or case.typed)[0]}")


def meant(sentence: str, grammar: Grammar, kit: Kit) -> list[dict[str, Any]]:
    readings = understand(typed(sentence, grammar), grammar, kit)
    return [to_json(meaning) for meaning in (readings[0].meanings if readings else ())]


@pytest.mark.parametrize("case", [*cases()])
def test_a_sentence_means_what_stands_beside_it(case: Case, grammar: Grammar, kit: Kit) -> None:
    wrong = {
        sentence: found for sentence in case.said + case.typed if (found := meant(sentence, grammar, kit)) != case.means
    }
    assert wrong == {}


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


@pytest.mark.parametrize("case", [*cases()])
def test_what_is_said_is_in_the_language_the_recogniser_listens_for(case: Case, heard: Callable[[str], bool]) -> None:
    assert [sentence for sentence in case.said if not heard(sentence)] == []
