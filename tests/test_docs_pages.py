"""The pages made from the program say what the program now does, and what they link to is there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.benchmarks.docs_pages import DOCS, pages

PAGES = pages()


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.name)
def test_pages_are_as_the_program_is(path: Path) -> None:
    written = path.read_text(encoding="utf-8")
    assert written == PAGES[path], "run `python tests/benchmarks/docs_pages.py`"


def test_every_example_of_the_guide_is_in_the_guide_once() -> None:
    page = PAGES[DOCS / "conversation.md"]
    assert page.count("\n- gauge reads one five zero zero\n") == 1
    assert "<!--" not in "".join(PAGES.values())


@pytest.mark.parametrize("path", sorted(DOCS.glob("*.md")), ids=lambda path: path.name)
def test_links_lead_somewhere(path: Path) -> None:
    for target in re.findall(r"\]\(([^)#]+)", path.read_text(encoding="utf-8")):
        assert target.startswith("http") or (path.parent / target).exists(), target
