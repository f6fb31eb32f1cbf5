"""What the documentation comments of the rules give: examples, near misses, the help and the documentation table."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from assistant.grammar.tree import Rule


@dataclass(frozen=True, slots=True)
class Example:
    """A sentence that `rule` must match, or as a near miss must not, and where it is written."""

    rule: str
    sentence: str
    file: str
    line: int


@dataclass(frozen=True, slots=True)
class HelpEntry:
    """What can be said with one public rule: in a line, and the first example."""

    rule: str
    description: str
    example: str


def tagged(rules: Iterable[Rule], tag: str) -> tuple[Example, ...]:
    """The sentences after every `@tag`, in the order of the files."""
    return tuple(
        Example(rule.name, one.text.lower(), rule.file, one.line) for rule in rules for one in rule.doc.tagged(tag)
    )


def help_entries(rules: Iterable[Rule]) -> tuple[HelpEntry, ...]:
    """One entry for each public rule that has a description and an example."""
    return tuple(
        HelpEntry(rule.name, rule.doc.description, examples[0].text.lower())
        for rule in rules
        if rule.public and rule.doc.description and (examples := rule.doc.tagged("example"))
    )


def documentation_table(rules: Iterable[Rule]) -> str:
    """A Markdown table of the public rules: name, description, every example."""
    return "\n".join(("| rule | what it says | for example |", "| --- | --- | --- |", *_rows(rules))) + "\n"


def _rows(rules: Iterable[Rule]) -> Iterator[str]:
    for rule in rules:
        examples = "; ".join(f"“{one.text}”" for one in rule.doc.tagged("example"))
        if rule.public and (rule.doc.description or examples):
            cells = (f"`<{rule.name}>`", rule.doc.description, examples)
            yield "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"
