"""A Drawing as an SVG element to stand inside an HTML page."""

from __future__ import annotations

from html import escape

from assistant.report.drawing import Dot, Drawing, Ink, Line, Shape, Words


def svg(drawing: Drawing) -> str:
    """The `<svg>` element; it needs no style sheet and scales to the width it is given."""
    shapes = "\n".join(_shape(shape) for shape in drawing.shapes)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {drawing.width:g} {drawing.height:g}" role="img" '
        f'aria-label="{escape(drawing.alt)}" font-family="system-ui, sans-serif">\n{shapes}\n</svg>'
    )


def _shape(shape: Shape) -> str:
    match shape:
        case Line():
            points = " ".join(f"{x:.2f},{y:.2f}" for x, y in shape.points)
            return f'<{"polygon" if _closed(shape) else "polyline"} points="{points}"{_ink(shape.ink)}/>'
        case Dot():
            x, y = shape.at
            return f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{shape.radius:g}"{_ink(shape.ink)}/>'
        case Words():
            x, y = shape.at
            weight = ' font-weight="bold"' if shape.bold else ""
            return (
                f'<text x="{x:.2f}" y="{y:.2f}" font-size="{shape.size:g}" text-anchor="{shape.anchor}" '
                f'fill="{shape.colour}"{weight}>{escape(shape.text)}</text>'
            )


def _closed(line: Line) -> bool:
    return line.ink.fill is not None or len(line.points) == 4


def _ink(ink: Ink) -> str:
    parts = [f' fill="{ink.fill or "none"}"']
    if ink.stroke:
        parts.append(f' stroke="{ink.stroke}" stroke-width="{ink.width:g}" stroke-linejoin="round"')
    if ink.dash:
        parts.append(f' stroke-dasharray="{" ".join(f"{each:g}" for each in ink.dash)}"')
    if ink.opacity < 1:
        parts.append(f' fill-opacity="{ink.opacity:g}"')
    return "".join(parts)
