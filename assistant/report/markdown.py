"""The hand-over as Markdown: headings, lines and pipe tables that read well as plain text too."""

from __future__ import annotations

from assistant.report import words
from assistant.report.sections import sections
from assistant.report.summary import Summary
from assistant.report.tables import Table, tables

# What Markdown would take for markup in words that somebody spoke or typed.
_MARKUP = str.maketrans({character: f"\\{character}" for character in "\\`*_[]<>|#"})


def markdown(summary: Summary, order: words.Order = "ATMIST") -> str:
    """The whole document."""
    day, span = words.when(summary)
    parts = [f"# {words.title(summary)} ({order})", f"{_plain(day)}, {_plain(span)}"]
    for section in sections(summary, order):
        lines = "\n".join(f"- {_plain(line)}" for line in section.lines)
        parts.append(f"## {section.letter} – {section.title}\n\n{lines}")
    parts += [_table(table) for table in tables(summary, most_rows=60)]
    parts.append(words.FOOT)
    return "\n\n".join(parts) + "\n"


def _table(table: Table) -> str:
    rows = [_row(table.heads), _row(tuple("---" for _ in table.heads))]
    rows += [_row(tuple(_plain(cell) for cell in row)) for row in table.rows]
    return f"## {table.caption}\n\n" + "\n".join(rows)


def _row(cells: tuple[str, ...]) -> str:
    return f"| {' | '.join(cells)} |"


def _plain(text: str) -> str:
    return " ".join(text.translate(_MARKUP).split())
