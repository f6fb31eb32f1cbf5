"""The radio read-out: digit by digit, in short groups, at the other station's pace."""

from __future__ import annotations

import re

import pytest

from assistant.report.radio import (
    CHOSEN,
    ICAO_DIGITS,
    RadioGroup,
    RadioStyle,
    radio_groups,
    read_out,
)
from assistant.report.summary import Summary

ICAO = RadioStyle(lead="", digits=ICAO_DIGITS)


@pytest.mark.parametrize(
    ("phrase", "said"),
    [
        # ICAO Annex 10 volume II, 5.2.1.4.3: the forms of the digits; 5.2.1.4.1.1: each by itself
        ("0123456789", "zero one two tree fower fife six seven eight niner"),
        ("pressure 1500 p s i", "pressure one fife zero zero p s i"),  # ACP 125's example for hundreds
        ("flow 2.5 litres", "flow two decimal fife litres"),  # CAP 413: the point is "decimal"
        ("local time 0920", "local time zero niner two zero"),  # Annex 10 II, 5.2.1.4.2
        ("flow 15 litres", "flow one fife litres"),  # never "fifteen"
    ],
)
def test_numbers_are_said_as_on_the_radio(phrase: str, said: str) -> None:
    assert RadioGroup(key="x", phrases=(phrase,)).text(ICAO) == f"{said}."


def test_groups_are_short_and_hold_no_figures(summary: Summary) -> None:
    groups = radio_groups(summary)
    assert len(groups) >= 10
    for group in groups:
        assert 1 <= len(group.phrases) <= 2
        assert len(group.text().split()) <= 14, group
        assert not re.search(r"\d|\boh\b|teen|hundred", group.text())


def test_the_figures_are_those_of_the_summary(summary: Summary) -> None:
    figures = RadioStyle(lead="", digits=tuple("0123456789"), between_digits="")
    said = " ".join(group.text(figures) for group in radio_groups(summary))
    for part in (
        "time 1129 local.",
        "saturation 096 percent.",
        "first saturation 084 percent.",
        "pulse 090 a minute.",
        "breathing 018 a minute.",
        "blood pressure 130 over 078 millimetres.",
        "target low 094 high 098 percent.",
        "device nasal cannula.",
        "flow 04 litres.",
        "oxygen given 1052 litres.",
        "bottle 3.",
        "pressure 1400 p s i.",
        "reserve in 044 minutes.",
        "hand over at 1130 local.",
        "alerts 007.",
    ):
        assert part in said, part


def test_it_waits_for_go_ahead_and_comes_to_an_end(summary: Summary) -> None:
    place, said = read_out(summary), []
    while not place.over:
        said.append(place.text())
        assert place.text() == said[-1]  # nothing moves by itself
        place = place.gone_ahead()
    assert said == [group.text(CHOSEN) for group in radio_groups(summary)]
    assert place.text() == ""
    assert place.gone_ahead() == place


def test_say_again_all_after_goes_back_to_the_word(summary: Summary) -> None:
    place = read_out(summary)
    while place.groups[place.at].key != "reserve":
        place = place.gone_ahead()
    for word, key in (("saturation", "saturation"), ("sats", "saturation"), ("mask", "device"), ("bottle", "bottle")):
        back = place.all_after(word)
        assert back is not None
        assert back.groups[back.at].key == key
        assert back.at < place.at
        assert back.groups == place.groups


def test_what_was_not_said_yet_cannot_be_said_again(summary: Summary) -> None:
    place = read_out(summary)
    assert place.all_after("alerts") is None
    assert place.all_after("weather") is None
