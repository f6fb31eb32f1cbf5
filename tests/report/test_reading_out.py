"""The read-out as a conversation: begun, gone ahead with, gone back in, and found again after a restart."""

from __future__ import annotations

from typing import Any

from assistant.incident import events as ev
from assistant.oxygen.kit import default_kit
from assistant.report.radio import radio_groups
from assistant.report.reading_out import radio_place, said_for
from assistant.report.spoken import spoken
from assistant.report.summary import summarised

KIT = default_kit()
VALUES: tuple[ev.Event, ...] = (
    ev.VitalNoted(at_s=10, patient="1", sign="oxygen_saturation", value=91),
    ev.VitalNoted(at_s=20, patient="1", sign="heart_rate", value=88),
    ev.FlowSet(at_s=30, patient="1", flow_l_min=4),
)


class Station:
    """Two stations in one: asks, puts the asking on record as the dialogue does, and keeps what was said."""

    def __init__(self) -> None:
        self.events: list[ev.Event] = list(VALUES)
        self.at_s = 60.0

    def ask(self, about: str, detail: str | None = None, outcome: str = "taken") -> str:
        self.at_s += 5
        said = said_for(about, detail, enumerate(self.events, start=1), KIT, at_s=self.at_s)
        meaning: dict[str, Any] = {"kind": "question", "about": about, "detail": detail}
        self.events.append(
            ev.UtteranceHeard(at_s=self.at_s, heard="", outcome=outcome, meanings=(meaning,), reply=said)
        )
        return said


GROUPS = [group.text() for group in radio_groups(summarised(enumerate(VALUES, start=1), KIT, until_s=65.0))]


def test_group_by_group_to_the_end() -> None:
    station = Station()
    said = [station.ask("radio_report"), *(station.ask("go_ahead") for _ in GROUPS[1:])]
    assert said == GROUPS
    assert station.ask("go_ahead") == "That was all. Out."


def test_back_to_a_word_and_on_from_there() -> None:
    station = Station()
    station.ask("radio_report")
    while "pulse" not in station.ask("go_ahead"):
        pass
    at = next(index for index, text in enumerate(GROUPS) if "Break, saturation" in text)
    assert station.ask("repeat_all_after", "saturation") == f"I say again all after saturation. {GROUPS[at]}"
    assert station.ask("go_ahead") == GROUPS[at + 1]
    assert station.ask("repeat_all_after", "alerts") == "I have not read alerts yet."
    assert station.ask("go_ahead") == GROUPS[at + 2]


def test_values_that_come_meanwhile_do_not_change_what_is_being_read() -> None:
    station = Station()
    station.ask("radio_report")
    station.events.append(ev.VitalNoted(at_s=70, patient="1", sign="oxygen_saturation", value=70))
    assert [station.ask("go_ahead") for _ in GROUPS[1:]] == GROUPS[1:]


def test_what_was_not_taken_moves_nothing() -> None:
    station = Station()
    station.ask("radio_report")
    station.ask("go_ahead", outcome="ignored")
    assert station.ask("go_ahead") == GROUPS[1]


def test_with_nothing_begun_it_says_how_to_begin() -> None:
    assert "read it for the radio" in Station().ask("go_ahead")
    assert radio_place(enumerate(VALUES, start=1), KIT) is None


def test_the_report_is_the_spoken_one() -> None:
    expected = spoken(summarised(enumerate(VALUES, start=1), KIT, until_s=65.0))
    assert Station().ask("report") == expected
    assert Station().ask("weather") == ""
