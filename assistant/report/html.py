"""The hand-over as one HTML page: self-contained, readable on a phone, one A4 page when printed."""

from __future__ import annotations

from html import escape

from assistant.report import words
from assistant.report.chart import chart
from assistant.report.sections import Section, sections
from assistant.report.summary import Summary
from assistant.report.svg import svg
from assistant.report.tables import Table, tables

# Wide tables stand across the page, narrow ones beside one another.
_WIDE_FROM_COLUMNS = 7

_STYLE = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { font: 15px/1.35 system-ui, sans-serif; color: #1b1b1b; background: #fff; margin: 0 auto; padding: 1rem;
  max-width: 60rem; }
header { display: flex; flex-wrap: wrap; justify-content: space-between; gap: .2rem 1rem;
  border-bottom: 2px solid #1b1b1b; margin-bottom: .6rem; }
h1 { font-size: 1.25rem; margin: 0; }
h2 { font-size: .95rem; margin: .8rem 0 .2rem; }
header p { margin: 0; }
dl { display: grid; grid-template-columns: 1.4rem 9rem 1fr; gap: .15rem .5rem; margin: 0; }
dt.letter { font-weight: 800; }
dt.title { font-weight: 600; }
dd { margin: 0; }
dd p { margin: 0; }
figure { margin: .6rem 0 0; overflow-x: auto; }
svg { width: 100%; min-width: 42rem; height: auto; display: block; }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums; font-size: .85rem; }
th { text-align: left; border-bottom: 1px solid #1b1b1b; padding: .1rem .5rem .1rem 0; vertical-align: bottom; }
td { border-bottom: 1px solid #ddd; padding: .1rem .5rem .1rem 0; vertical-align: top; }
.columns { columns: 2 22rem; column-gap: 1.6rem; }
.table { break-inside: avoid; overflow-x: auto; }
footer { margin-top: .8rem; border-top: 1px solid #999; font-size: .8rem; color: #444; }
@media (max-width: 40rem) { dl { grid-template-columns: 1.4rem 1fr; } dd { grid-column: 2; } }
@media print {
  @page { size: A4 portrait; margin: 10mm; }
  body { font-size: 8.2pt; line-height: 1.22; padding: 0; max-width: none; }
  h1 { font-size: 12pt; } h2 { font-size: 8.6pt; margin: .45rem 0 .1rem; }
  table { font-size: 7.2pt; } td, th { padding-top: 0; padding-bottom: 0; }
  dl { grid-template-columns: 1rem 7rem 1fr; gap: .05rem .4rem; }
  .columns { columns: 2; }
  svg { min-width: 0; }
  footer { font-size: 7pt; margin-top: .4rem; }
}
"""


def html(summary: Summary, order: words.Order = "ATMIST") -> str:
    """The page as text; nothing in it is fetched from anywhere."""
    made = tables(summary)
    narrow = "".join(_table(table) for table in made if len(table.heads) < _WIDE_FROM_COLUMNS)
    wide = "".join(_table(table) for table in made if len(table.heads) >= _WIDE_FROM_COLUMNS)
    parts = "".join(_section(section) for section in sections(summary, order))
    day, span = words.when(summary)
    title = words.title(summary)
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{title}, {escape(day)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n"
        f"<header><h1>{title} <small>({order})</small></h1><p>{escape(day)} {escape(span)}</p></header>\n"
        f"<dl>{parts}</dl>\n<figure>{svg(chart(summary))}</figure>\n"
        f'{wide}\n<div class="columns">{narrow}</div>\n'
        f"<footer>{escape(words.FOOT)}</footer>\n</body>\n</html>\n"
    )


def _section(section: Section) -> str:
    lines = "".join(f"<p>{escape(line)}</p>" for line in section.lines)
    return f'<dt class="letter">{section.letter}</dt><dt class="title">{escape(section.title)}</dt><dd>{lines}</dd>'


def _table(table: Table) -> str:
    heads = "".join(f"<th>{escape(head)}</th>" for head in table.heads)
    rows = "".join(f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>" for row in table.rows)
    return (
        f'<div class="table"><h2>{escape(table.caption)}</h2>'
        f"<table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table></div>"
    )
