"""A drawing as plain shapes in millimetres, y downwards, that every painter (SVG, PDF) paints alike."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, log10
from typing import Literal

Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ink:
    """How something is drawn. Colours are "#rrggbb"; `dash` is on and off in mm, () for a whole line."""

    stroke: str | None = None
    fill: str | None = None
    width: float = 0.2
    dash: tuple[float, ...] = ()
    opacity: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A polyline; closed and filled where its ink has a fill."""

    points: tuple[Point, ...]
    ink: Ink


@dataclass(frozen=True, slots=True, kw_only=True)
class Dot:
    """A filled circle."""

    at: Point
    radius: float
    ink: Ink


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """A line of text whose baseline is at `at`; `size` is its height in mm."""

    at: Point
    text: str
    size: float = 2.6
    anchor: Anchor = "start"
    bold: bool = False
    colour: str = "#222222"


Shape = Line | Dot | Words


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """Shapes on a sheet of so many millimetres; `alt` tells in words what is seen."""

    width: float
    height: float
    shapes: tuple[Shape, ...]
    alt: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """A part of the sheet with a time axis along it and a value axis up it."""

    left: float
    top: float
    width: float
    height: float
    end_s: float
    low: float
    high: float

    def x(self, at_s: float) -> float:
        """Where a moment is, in mm."""
        return self.left + self.width * min(1.0, max(0.0, at_s / self.end_s))

    def y(self, value: float) -> float:
        """Where a value is, in mm; values outside are drawn at the edge."""
        share = (value - self.low) / (self.high - self.low)
        return self.top + self.height * (1 - min(1.0, max(0.0, share)))

    def line(self, points: Sequence[tuple[float, float]], ink: Ink) -> Line:
        """A curve of (at_s, value)."""
        return Line(points=tuple((self.x(at_s), self.y(value)) for at_s, value in points), ink=ink)

    def box(self, begin_s: float, end_s: float, low: float, high: float, ink: Ink) -> Line:
        """A rectangle over a stretch of time and of values."""
        return self.line([(begin_s, low), (end_s, low), (end_s, high), (begin_s, high)], ink)


def steps(low: float, high: float, most: int) -> list[float]:
    """Round values from `low` to `high`, at most so many: the places of grid lines."""
    span = max(high - low, 1e-9)
    magnitude = 10 ** floor(log10(span / most))
    step = next(magnitude * factor for factor in (1, 2, 5, 10) if span / (magnitude * factor) <= most)
    first = -(-low // step) * step
    return [first + index * step for index in range(int((high - first) / step + 1e-9) + 1)]
