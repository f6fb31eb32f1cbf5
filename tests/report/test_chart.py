"""The chart draws what is on record, at its place and on the sheet."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.quantity import convert
from assistant.report.chart import chart
from assistant.report.drawing import Dot, Line, Panel, Words, steps
from assistant.report.summary import Summary


def test_nothing_is_drawn_off_the_sheet(summary: Summary) -> None:
    drawing = chart(summary)
    for shape in drawing.shapes:
        points = shape.points if isinstance(shape, Line) else (shape.at,)
        assert all(0 <= x <= drawing.width and 0 <= y <= drawing.height for x, y in points), shape


def test_every_reading_and_every_saturation_has_its_dot(summary: Summary) -> None:
    dots = [shape for shape in chart(summary).shapes if isinstance(shape, Dot)]
    readings = sum(len(cylinder.readings) for cylinder in summary.cylinders)
    assert len(dots) == readings + len(summary.patients[0].of("oxygen_saturation"))


def test_a_dot_stands_where_the_axis_says(summary: Summary) -> None:
    """From the labels of the axis alone: the dot of the first reading is where 2,000 psi at 09:32 must be."""
    shapes = chart(summary).shapes
    at = {shape.text: shape.at for shape in shapes if isinstance(shape, Words)}
    first = next(shape for shape in shapes if isinstance(shape, Dot))
    reading = summary.cylinders[0].readings[0]
    psi = convert(reading.pressure_bar, "bar", "psi")
    per_psi = (at["500"][1] - at["2000"][1]) / 1500
    assert first.at[1] == pytest.approx(at["2000"][1] - 0.9 + (2000 - psi) * per_psi, abs=0.05)
    per_minute = (at["11:15"][0] - at["09:30"][0]) / 105
    assert first.at[0] == pytest.approx(at["09:30"][0] + reading.at_s / 60 * per_minute, abs=0.05)


def test_without_a_clock_the_axis_counts_from_the_start(summary: Summary) -> None:
    labels = [shape.text for shape in chart(replace(summary, began=None)).shapes if isinstance(shape, Words)]
    assert "+0 min" in labels
    assert not any(":" in label for label in labels)


def test_values_beyond_the_axis_stay_at_its_edge() -> None:
    panel = Panel(left=10, top=5, width=100, height=50, end_s=60, low=0, high=10)
    assert (panel.x(-5), panel.x(600), panel.y(-3), panel.y(99)) == (10, 110, 55, 5)


@pytest.mark.parametrize(("low", "high"), [(0, 2222), (80, 100), (0, 0.9), (0, 155), (62.5, 63)])
def test_grid_lines_are_round_few_and_inside(low: float, high: float) -> None:
    places = steps(low, high, 5)
    assert 2 <= len(places) <= 6
    assert all(low - 1e-6 <= place <= high + 1e-6 for place in places)
