"""The page's colours: every pair that stands on each other has the contrast WCAG 2.2 asks for at level AA.

Text 4.5 to 1 (success criterion 1.4.3), lines that show where a control is 3 to 1 (1.4.11). The formula for relative
luminance and contrast is that of WCAG 2.2.
"""

from __future__ import annotations

import re

import pytest

from assistant.screens.web.server import FILES, PAGE

CSS = (PAGE / "look.css").read_text(encoding="utf-8")
TEXT_PAIRS = (
    ("ink", "paper"), ("soft", "paper"), ("ink", "panel"), ("soft", "panel"), ("on-action", "action"),
    ("on-talking", "talking"), ("on-high", "high"), ("on-medium", "medium"), ("on-low", "low"),
)  # fmt: skip
LINE_PAIRS = (("rule", "paper"), ("rule", "panel"), ("curve", "paper"), ("mark", "paper"))


def colours(look: str) -> dict[str, str]:
    block = re.search(r"\[data-look=\"" + look + r"\"\] \{(.*?)\}", CSS, re.DOTALL)
    assert block is not None
    return dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", block.group(1)))


def luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_the_formula_gives_the_published_extremes() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("look", ["day", "night"])
@pytest.mark.parametrize(("front", "back"), TEXT_PAIRS)
def test_text_is_read_in_sun_and_at_night(look: str, front: str, back: str) -> None:
    assert contrast(colours(look)[front], colours(look)[back]) >= 4.5


@pytest.mark.parametrize("look", ["day", "night"])
@pytest.mark.parametrize(("front", "back"), LINE_PAIRS)
def test_lines_are_seen(look: str, front: str, back: str) -> None:
    assert contrast(colours(look)[front], colours(look)[back]) >= 3.0


def test_every_colour_stands_in_one_of_the_two_tables() -> None:
    rules = CSS.split("* { box-sizing")[1]
    assert not re.search(r"#[0-9a-fA-F]{3,8}\b(?![^{]*\{)", rules.replace("#talk", "").replace("#alert", ""))
    assert set(colours("day")) == set(colours("night"))


def test_the_page_asks_for_nothing_elsewhere_and_every_file_is_served() -> None:
    for name, _ in FILES.values():
        text = (PAGE / name).read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert not re.search(r"https?://", text.replace('"https:"', "")), name
    assert {path.name for path in PAGE.iterdir()} == {name for name, _ in FILES.values()}
