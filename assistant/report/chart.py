"""The chart of an incident: cylinder pressure, saturation, and how oxygen was given, over one time axis.

Takes a Summary, gives a Drawing. Lines are told apart by dash and by a number beside them, so that it prints in grey.
"""

from __future__ import annotations

from assistant.quantity import convert
from assistant.report import words
from assistant.report.drawing import Dot, Drawing, Ink, Panel, Shape, Words, steps
from assistant.report.summary import CurvePoint, CylinderSummary, PatientSummary, Span, Summary

_LEFT, _RIGHT = 13.0, 4.0
_GAP = 3.5
_STRIP = 4.6  # height of one patient's strip of device and flow
_AXIS_FOOT = 5.0
_NINETY = 1.645  # standard deviations that hold 90 % of a normal spread
_BREAK_S = 150.0  # a longer silence in a curve is a gap: the cylinder was set aside

_GRID = Ink(stroke="#d8d8d8", width=0.12)
_FRAME = Ink(stroke="#8a8a8a", width=0.2)
_RESERVE = Ink(stroke="#b00020", width=0.3, dash=(1.6, 0.9))
_TARGET = Ink(fill="#dcefe0")
_COLOURS = ("#1f4e9c", "#a34a00", "#2e6b34", "#6a2c91", "#5a5a5a")
_DASHES: tuple[tuple[float, ...], ...] = ((), (2.2, 0.8), (0.8, 0.6), (3.2, 1.4))
_STRIP_FILLS = ("#e9edf5", "#f6ece0")


def chart(summary: Summary, *, width: float = 186.0, height: float = 78.0) -> Drawing:
    """The chart, so many millimetres wide and high."""
    end_s = max(summary.until_s, 60.0)
    strips = _STRIP * len(summary.patients) + _GAP
    inner = height - strips - _AXIS_FOOT - 2 * _GAP - 1.0
    pressure = _pressure_panel(summary, end_s, width, 3.5, inner * 0.58)
    saturation = Panel(
        left=_LEFT,
        top=pressure.top + pressure.height + _GAP + 1.5,
        width=pressure.width,
        height=inner * 0.42 - 2.5,
        end_s=end_s,
        low=_lowest_saturation(summary),
        high=100.0,
    )
    strip_top = saturation.top + saturation.height + _GAP
    shapes = [
        *_grid(pressure, f"Pressure, {summary.kit.pressure_unit}", summary),
        *_reserve(pressure, summary),
        *(shape for i, each in enumerate(summary.cylinders) for shape in _cylinder(pressure, each, i, summary)),
        *_targets(saturation, summary),
        *_grid(saturation, "Saturation, %", summary),
        *(shape for i, each in enumerate(summary.patients) for shape in _saturation(saturation, each, i, summary)),
        *(s for i, each in enumerate(summary.patients) for s in _supply(saturation, each, strip_top, i, summary)),
        *_clock(saturation, strip_top + _STRIP * len(summary.patients), summary),
    ]
    return Drawing(width=width, height=height, shapes=tuple(shapes), alt=_alt(summary))


def _pressure_panel(summary: Summary, end_s: float, width: float, top: float, height: float) -> Panel:
    unit = summary.kit.pressure_unit
    bars = [point.pressure_bar for each in summary.cylinders for point in each.curve]
    bars += [reading.pressure_bar for each in summary.cylinders for reading in each.readings]
    highest = convert(max([*bars, summary.kit.reserve_bar * 2]), "bar", unit)
    return Panel(
        left=_LEFT, top=top, width=width - _LEFT - _RIGHT, height=height, end_s=end_s, low=0.0, high=highest * 1.08
    )


def _lowest_saturation(summary: Summary) -> float:
    values = [float(point.value) for each in summary.patients for point in each.of("oxygen_saturation")]
    return min(80.0, 5 * ((min(values, default=90.0) - 3) // 5))


def _grid(panel: Panel, title: str, summary: Summary) -> list[Shape]:
    shapes: list[Shape] = []
    for value in steps(panel.low, panel.high, 5):
        shapes.append(panel.line([(0, value), (panel.end_s, value)], _GRID))
        at = (panel.left - 1.2, panel.y(value) + 0.9)
        shapes.append(Words(at=at, text=words.number(value), anchor="end", size=2.3))
    for at_s in _ticks(summary, panel.end_s):
        shapes.append(panel.line([(at_s, panel.low), (at_s, panel.high)], _GRID))
    shapes.append(panel.box(0, panel.end_s, panel.low, panel.high, _FRAME))
    shapes.append(Words(at=(panel.left, panel.top - 0.9), text=title, bold=True, size=2.5))
    return shapes


def _ticks(summary: Summary, end_s: float) -> list[float]:
    """Moments for the time axis: whole steps of the clock, or of the incident where no clock is known."""
    step_min = next(step for step in (5, 10, 15, 30, 60, 120, 240, 100_000) if end_s / 60 / step <= 9)
    first_s = 0.0
    if summary.began is not None:
        into_s = (summary.began.hour * 60 + summary.began.minute) * 60 + summary.began.second
        first_s = -into_s % (step_min * 60)
    return [first_s + n * step_min * 60 for n in range(int((end_s - first_s) / (step_min * 60)) + 1)]


def _clock(panel: Panel, foot: float, summary: Summary) -> list[Shape]:
    return [
        Words(at=(panel.x(at_s), foot + 3.2), text=summary.clock(at_s), anchor="middle", size=2.4)
        for at_s in _ticks(summary, panel.end_s)
    ]


def _reserve(panel: Panel, summary: Summary) -> list[Shape]:
    value = convert(summary.kit.reserve_bar, "bar", summary.kit.pressure_unit)
    at = (panel.left + panel.width - 0.8, panel.y(value) - 0.7)
    return [
        panel.line([(0, value), (panel.end_s, value)], _RESERVE),
        Words(at=at, text="reserve", anchor="end", size=2.3, colour="#b00020"),
    ]


def _cylinder(panel: Panel, cylinder: CylinderSummary, index: int, summary: Summary) -> list[Shape]:
    """The reckoned needle as a line within its 90 % band, the readings as dots, the number at the first of them."""
    unit, colour = summary.kit.pressure_unit, _COLOURS[index % len(_COLOURS)]
    stroke = Ink(stroke=colour, width=0.4, dash=_DASHES[index % len(_DASHES)])
    shapes: list[Shape] = []
    for piece in _pieces(cylinder.curve):
        upper = [(p.at_s, convert(p.pressure_bar + _NINETY * p.sd_bar, "bar", unit)) for p in piece]
        lower = [(p.at_s, convert(max(0, p.pressure_bar - _NINETY * p.sd_bar), "bar", unit)) for p in reversed(piece)]
        shapes.append(panel.line([*upper, *lower], Ink(fill=colour, opacity=0.13)))
        shapes.append(panel.line([(p.at_s, convert(p.pressure_bar, "bar", unit)) for p in piece], stroke))
    for reading in cylinder.readings:
        at = (panel.x(reading.at_s), panel.y(convert(reading.pressure_bar, "bar", unit)))
        shapes.append(Dot(at=at, radius=0.7, ink=Ink(fill=colour)))
    named = [(piece[0].at_s, piece[0].pressure_bar) for piece in _pieces(cylinder.curve)[:1]]
    named = named or [(reading.at_s, reading.pressure_bar) for reading in cylinder.readings[:1]]
    for at_s, bar in named:  # beside the line itself where the cylinder was used, not where it was only looked at
        at = (panel.x(at_s) + 1.4, panel.y(convert(bar, "bar", unit)) - 0.6)
        shapes.append(Words(at=at, text=cylinder.name, bold=True, colour=colour, size=2.7))
    return shapes


def _pieces(curve: tuple[CurvePoint, ...]) -> list[list[CurvePoint]]:
    pieces: list[list[CurvePoint]] = []
    for point in curve:
        if not pieces or point.at_s - pieces[-1][-1].at_s > _BREAK_S:
            pieces.append([])
        pieces[-1].append(point)
    return [piece for piece in pieces if len(piece) > 1]


def _targets(panel: Panel, summary: Summary) -> list[Shape]:
    wanted = sorted({patient.target for patient in summary.patients if patient.target})
    if not wanted:
        return []
    shapes: list[Shape] = [panel.box(0, panel.end_s, low, high, _TARGET) for low, high in wanted]
    text = f"target {' and '.join(f'{low}–{high}' for low, high in wanted)}"
    at = (panel.left + panel.width, panel.top - 0.9)
    return [*shapes, Words(at=at, text=text, anchor="end", size=2.3, colour="#2e6b34")]


def _saturation(panel: Panel, patient: PatientSummary, index: int, summary: Summary) -> list[Shape]:
    points = [(point.at_s, float(point.value)) for point in patient.of("oxygen_saturation")]
    colour = _COLOURS[index % len(_COLOURS)]
    ink = Ink(stroke=colour, width=0.35, dash=_DASHES[index % len(_DASHES)])
    shapes: list[Shape] = [panel.line(points, ink)] if len(points) > 1 else []
    shapes += [Dot(at=(panel.x(at_s), panel.y(value)), radius=0.6, ink=Ink(fill=colour)) for at_s, value in points]
    if points and len(summary.patients) > 1:
        at = (panel.x(points[0][0]) + 0.8, panel.y(points[0][1]) - 1.2)
        shapes.append(Words(at=at, text=f"P{patient.name}", bold=True, colour=colour, size=2.5))
    return shapes


def _supply(panel: Panel, patient: PatientSummary, top: float, index: int, summary: Summary) -> list[Shape]:
    """A strip: one box for each stretch with the same device and flow, its words in it where they fit."""
    strip = Panel(
        left=panel.left,
        top=top + index * _STRIP,
        width=panel.width,
        height=_STRIP - 0.7,
        end_s=panel.end_s,
        low=0,
        high=1,
    )
    label = f"P{patient.name}" if len(summary.patients) > 1 else "O₂"
    shapes: list[Shape] = [Words(at=(panel.left - 1.2, strip.top + 2.9), text=label, anchor="end", size=2.4, bold=True)]
    for number, span in enumerate(_stretches(patient.spans)):
        ink = Ink(fill=_STRIP_FILLS[number % 2], stroke="#9a9a9a", width=0.12)
        shapes.append(strip.box(span.begin_s, span.end_s, 0, 1, ink))
        room = strip.x(span.end_s) - strip.x(span.begin_s)
        for text in (words.supply(span), words.flow(span.flow_l_min), words.number(span.flow_l_min or 0)):
            if len(text) * 1.15 + 1 < room:
                at = (strip.x(span.begin_s) + room / 2, strip.top + 2.85)
                shapes.append(Words(at=at, text=text, anchor="middle", size=2.3))
                break
    return shapes


def _stretches(spans: tuple[Span, ...]) -> list[Span]:
    """Neighbours that differ in their cylinder alone are one stretch."""
    joined: list[Span] = []
    for span in spans:
        last = joined[-1] if joined else None
        same = last is not None and last.end_s == span.begin_s and words.supply(last) == words.supply(span)
        if last is not None and same:
            joined[-1] = Span(
                begin_s=last.begin_s,
                end_s=span.end_s,
                device=span.device,
                oxygen_percent=span.oxygen_percent,
                flow_l_min=span.flow_l_min,
                cylinder=span.cylinder,
            )
        else:
            joined.append(span)
    return joined


def _alt(summary: Summary) -> str:
    told = [f"Pressure of {len(summary.cylinders)} cylinders and saturation of {len(summary.patients)} patients"]
    told.append(f"from {summary.clock(0)} to {summary.clock(summary.until_s)}")
    return " ".join(told)
