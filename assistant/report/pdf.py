"""The hand-over as a PDF: one A4 page for an incident of two hours, more only where it cannot be.

Set in the fonts every reader has, which know the letters of western Europe; others are written in plain letters that
sound or look like them, and the page says so.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import TYPE_CHECKING

from assistant.report import words
from assistant.report.chart import chart
from assistant.report.drawing import Dot, Drawing, Ink, Line, Words
from assistant.report.sections import sections
from assistant.report.summary import Summary
from assistant.report.tables import Table, tables

if TYPE_CHECKING:
    from fpdf import FPDF

_MARGIN, _WIDE, _HIGH = 10.0, 190.0, 297.0
_FOOT_AT = _HIGH - 16.0
_GAP = 6.0
_MM_PER_PT = 0.3528
_WIDE_FROM_COLUMNS = 7
# How many rows a table may have, tried in turn until all is on one page.
_MOST_ROWS = (18, 14, 10, 7)


def pdf(summary: Summary, order: words.Order = "ATMIST") -> bytes:
    """The PDF's bytes; the same summary gives the same bytes."""
    page = _Page(summary, order, _MOST_ROWS[0])
    for most_rows in _MOST_ROWS[1:]:
        if page.pages == 1:
            break
        page = _Page(summary, order, most_rows)
    return page.bytes()


class _Page:
    """One attempt at the document: draws from top to bottom and goes on to a further page where it must."""

    def __init__(self, summary: Summary, order: words.Order, most_rows: int) -> None:
        self._pdf = _blank(summary)
        self._lacking = False
        self._y = _MARGIN
        self._head(summary, order)
        self._sections(summary, order)
        self._drawing(chart(summary, width=_WIDE, height=78.0))
        made = tables(summary, most_rows=most_rows)
        for table in made:
            if len(table.heads) >= _WIDE_FROM_COLUMNS:
                self._y = self._table(table, _MARGIN, self._y, _WIDE)
        self._columns([table for table in made if len(table.heads) < _WIDE_FROM_COLUMNS])
        self._foot()

    @property
    def pages(self) -> int:
        return int(self._pdf.pages_count)

    def bytes(self) -> bytes:
        return bytes(self._pdf.output())

    def _head(self, summary: Summary, order: words.Order) -> None:
        day, span = words.when(summary)
        self._write(_MARGIN, self._y + 5, f"{words.title(summary)} ({order})", 13, bold=True)
        self._write(_MARGIN + _WIDE, self._y + 5, f"{day}  {span}", 9, align="end")
        self._rule(_MARGIN, self._y + 7, _WIDE, 0.5)
        self._y += 11.5

    def _sections(self, summary: Summary, order: words.Order) -> None:
        for section in sections(summary, order):
            self._write(_MARGIN, self._y, section.letter, 9, bold=True)
            self._write(_MARGIN + 5, self._y, section.title, 9, bold=True)
            for line in section.lines:
                for part in self._wrapped(line, _WIDE - 42, 8.8):
                    self._write(_MARGIN + 42, self._y, part, 8.8)
                    self._y += 3.9
            self._y += 0.5
        self._y += 0.5

    def _drawing(self, drawing: Drawing) -> None:
        for shape in drawing.shapes:
            match shape:
                case Line():
                    self._line(shape)
                case Dot():
                    self._dot(shape)
                case Words():
                    at = (_MARGIN + shape.at[0], self._y + shape.at[1])
                    size = shape.size / _MM_PER_PT
                    self._write(*at, shape.text, size, bold=shape.bold, align=shape.anchor, colour=shape.colour)
        self._y += drawing.height + 3

    def _line(self, line: Line) -> None:
        points = [(_MARGIN + x, self._y + y) for x, y in line.points]
        with self._inked(line.ink) as style:
            if line.ink.fill or len(points) == 4:
                self._pdf.polygon(points, style=style)
            elif len(points) > 1:
                self._pdf.polyline(points, style=style)

    def _dot(self, dot: Dot) -> None:
        with self._inked(dot.ink) as style:
            self._pdf.circle(x=_MARGIN + dot.at[0], y=self._y + dot.at[1], radius=dot.radius, style=style)

    def _inked(self, ink: Ink) -> _Inked:
        return _Inked(self._pdf, ink)

    def _columns(self, narrow: list[Table]) -> None:
        """Tables side by side: each goes to the column that is shorter so far, and to a new page if it fits neither."""
        width = (_WIDE - _GAP) / 2
        ends = [self._y, self._y]
        for table in narrow:
            column = 0 if ends[0] <= ends[1] else 1
            if ends[column] + self._height(table, width) > _FOOT_AT:
                self._pdf.add_page()
                ends, column = [_MARGIN + 3, _MARGIN + 3], 0
            ends[column] = self._table(table, _MARGIN + column * (width + _GAP), ends[column], width)

    def _height(self, table: Table, width: float) -> float:
        widths = self._widths(table, width)
        lines = sum(self._lines_of(row, widths) for row in table.rows) + self._lines_of(table.heads, widths)
        return 6.0 + lines * 3.1 + len(table.rows) * 0.5

    def _table(self, table: Table, x: float, y: float, width: float) -> float:
        """Draws the table at (x, y) and gives where it ends."""
        for line in self._wrapped(table.caption, width, 8.6, bold=True):
            self._write(x, y + 1, line, 8.6, bold=True)
            y += 3.6
        widths = self._widths(table, width)
        y = self._row(table.heads, widths, x, y + 0.7, bold=True)
        self._rule(x, y - 2.0, width, 0.25)
        for row in table.rows:
            y = self._row(row, widths, x, y + 0.8) - 0.3
            self._rule(x, y - 2.1, width, 0.1, grey=205)
        return y + 3.2

    def _row(self, cells: tuple[str, ...], widths: list[float], x: float, y: float, *, bold: bool = False) -> float:
        for cell, width in zip(cells, widths, strict=True):
            for number, part in enumerate(self._wrapped(cell, width - 1.5, 7.4, bold=bold)):
                self._write(x, y + number * 3.0, part, 7.4, bold=bold)
            x += width
        return y + self._lines_of(cells, widths, bold=bold) * 3.0

    def _lines_of(self, cells: tuple[str, ...], widths: list[float], *, bold: bool = False) -> int:
        return max(len(self._wrapped(c, w - 1.5, 7.4, bold=bold)) for c, w in zip(cells, widths, strict=True))

    def _widths(self, table: Table, width: float) -> list[float]:
        """Column widths: what the longest cell needs, the widest column giving way first."""
        self._font(7.4, bold=True)
        wanted = [
            max(self._pdf.get_string_width(self._printable(cell)) for cell in column) + 2.0
            for column in zip(table.heads, *table.rows, strict=True)
        ]
        while sum(wanted) > width + 0.01:
            widest = wanted.index(max(wanted))
            wanted[widest] = max(wanted[widest] - 1.0, 8.0)
        spare = (width - sum(wanted)) / len(wanted)
        return [each + spare for each in wanted]

    def _wrapped(self, text: str, width: float, size: float, *, bold: bool = False) -> list[str]:
        self._font(size, bold=bold)
        lines = [""]
        for word in _with_units_held(self._printable(text)).split(" "):
            longer = f"{lines[-1]} {word}".strip()
            if lines[-1] and self._pdf.get_string_width(longer) > width:
                lines.append(word)
            else:
                lines[-1] = longer
        return lines

    def _foot(self) -> None:
        foot = words.FOOT
        if self._lacking:
            foot += " Some names or words are written here in plain letters; the HTML page has them as they were given."
        self._rule(_MARGIN, _FOOT_AT + 1, _WIDE, 0.2)
        for number, line in enumerate(self._wrapped(foot, _WIDE, 7)):
            self._write(_MARGIN, _FOOT_AT + 4 + number * 3, line, 7, colour="#444444")

    def _write(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        bold: bool = False,
        align: str = "start",
        colour: str = "#1b1b1b",
    ) -> None:
        self._font(size, bold=bold)
        text = self._printable(text)
        back = {"start": 0.0, "middle": 0.5, "end": 1.0}[align] * self._pdf.get_string_width(text)
        self._pdf.set_text_color(*_rgb(colour))
        self._pdf.text(x - back, y, text)

    def _rule(self, x: float, y: float, width: float, weight: float, *, grey: int = 60) -> None:
        self._pdf.set_draw_color(grey)
        self._pdf.set_line_width(weight)
        self._pdf.line(x, y, x + width, y)

    def _font(self, size: float, *, bold: bool = False) -> None:
        self._pdf.set_font("Helvetica", style="B" if bold else "", size=size)

    def _printable(self, text: str) -> str:
        made = "".join(_printable(character) for character in text)
        self._lacking = self._lacking or any(_set(character) is None for character in text)
        return made


class _Inked:
    """The pen set to an ink for a while; gives fpdf's word for what is to be drawn."""

    def __init__(self, document: FPDF, ink: Ink) -> None:
        self._document = document
        self._ink = ink
        self._state = document.local_context(fill_opacity=ink.opacity, stroke_opacity=1)

    def __enter__(self) -> str:
        self._state.__enter__()
        ink = self._ink
        if ink.stroke:
            self._document.set_draw_color(*_rgb(ink.stroke))
            self._document.set_line_width(ink.width)
            dash = ink.dash or (0.0, 0.0)
            self._document.set_dash_pattern(dash=dash[0], gap=dash[1])
        if ink.fill:
            self._document.set_fill_color(*_rgb(ink.fill))
        return ("D" if ink.stroke else "") + ("F" if ink.fill else "")

    def __exit__(self, *error: object) -> None:
        self._state.__exit__(None, None, None)


def _blank(summary: Summary) -> FPDF:
    from fpdf import FPDF

    document = FPDF(orientation="portrait", unit="mm", format="A4")
    document.core_fonts_encoding = "windows-1252"
    document.set_auto_page_break(False)
    document.set_title(f"{words.title(summary)}, {words.when(summary)[0]}")
    if summary.began is not None:
        document.set_creation_date(summary.began)
    document.add_page()
    return document


def _with_units_held(text: str) -> str:
    """The text with a space between a number and its unit at which no line is broken."""
    return re.sub(r"(?<=\d) (?=(?:%|L|L/min|/min|min|psi|bar|MPa|mmHg)(?:\W|$))", "\u00a0", text)


def _printable(character: str) -> str:
    """What the page can print for it."""
    own = _set(character)
    return _plain(character) if own is None else own


@lru_cache(maxsize=1024)
def _set(character: str) -> str | None:
    """The character itself, or the letters under its accents; None where the page's fonts lack them."""
    parts = "".join(part for part in unicodedata.normalize("NFKD", character) if not unicodedata.combining(part))
    for each in (character, parts):
        try:
            each.encode("windows-1252")
        except UnicodeEncodeError:
            continue
        return each
    return None


def _plain(character: str) -> str:
    """Plain letters that sound like it; nothing for what has no sound of its own, "?" for what nobody knows."""
    from anyascii import anyascii

    silent = unicodedata.category(character)[0] in "LM" or unicodedata.category(character) == "Cf"
    return anyascii(character) or ("" if silent else "?")


def _rgb(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)
