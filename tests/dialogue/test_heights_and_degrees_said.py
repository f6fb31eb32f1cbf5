"""A height and a temperature are read back in the unit they were said in, so that they can be compared."""

from __future__ import annotations

import pytest

from assistant.app import setting_for
from assistant.dialogue.readback import read_back
from assistant.incident.state import State
from assistant.meaning import kinds as k
from assistant.oxygen.kit import default_kit
from tests.dialogue.talking import Talk

KIT = default_kit()


@pytest.mark.parametrize(
    ("line", "reply"),
    [
        ("altitude eight thousand feet", "Altitude eight thousand feet."),
        ("altitude ten thousand feet", "Altitude one zero zero zero zero feet."),
        ("altitude fifteen hundred metres", "Altitude fifteen hundred metres."),
        ("altitude 2450 metres", "Altitude two four five zero metres."),
        ("temperature forty degrees fahrenheit", "Four zero degrees Fahrenheit."),
        ("temperature ten degrees", "One zero degrees Celsius."),
        ("temperature minus one", "Minus one degree Celsius."),
    ],
)
def test_the_unit_that_was_said_comes_back(line: str, reply: str) -> None:
    assert Talk(setting_for(KIT)).types(line).reply == reply


@pytest.mark.parametrize(
    ("metres", "text"), [(0.3048, "one foot"), (1.0, "one metre"), (2437.3, "two four three seven")]
)
def test_one_is_one_and_no_unit_is_made_up(metres: float, text: str) -> None:
    said = read_back((k.Altitude(metres=metres),), State(kit=KIT))
    assert text in said[0]
    assert ("foot" in said[0]) == (metres < 1)
