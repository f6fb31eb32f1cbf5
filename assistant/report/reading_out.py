"""What is said where the medic asks for a read-out: the hand-over, or the next group for the radio.

The place in a radio read-out is folded from the record like everything else, so that a restart does not lose it: the
last "read it for the radio" began it, and every "go ahead" and "say again all after …" since moved it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any

from assistant.incident import events as ev
from assistant.oxygen.kit import Kit
from assistant.report.radio import ReadOut, read_out
from assistant.report.spoken import spoken
from assistant.report.summary import summarised
from assistant.report.words import Order

Numbered = tuple[int, ev.Event]
# What a question can be about for it to be answered here.
WANTS = ("report", "radio_report", "go_ahead", "repeat_all_after")


def said_for(
    wants: str,
    detail: str | None,
    events: Iterable[Numbered],
    kit: Kit,
    *,
    at_s: float,
    began: datetime | None = None,
    order: Order = "ATMIST",
    patient: str | None = None,
) -> str:
    """The words for one of `WANTS`, asked at `at_s`; "" where it is none of them.

    `events` are those before the asking, `detail` the word of "say again all after", `patient` whose report it is.
    """
    numbered = tuple(events)
    if wants == "report":
        return spoken(summarised(numbered, kit, began=began, until_s=at_s), order, patient=patient)
    if wants == "radio_report":
        return read_out(summarised(numbered, kit, began=began, until_s=at_s)).text()
    if wants not in WANTS:
        return ""
    place = radio_place(numbered, kit, began=began)
    if place is None:
        return "Nothing is being read out. Say: read it for the radio."
    return _moved(place, wants, detail)


def _moved(place: ReadOut, wants: str, detail: str | None) -> str:
    if wants == "go_ahead":
        return place.gone_ahead().text() or "That was all. Out."
    back = place.all_after(detail or "")
    if back is None:
        return f"I have not read {detail or 'that'} yet."
    return f"I say again all after {detail}. {back.text()}"


def radio_place(events: Iterable[Numbered], kit: Kit, *, began: datetime | None = None) -> ReadOut | None:
    """Where the radio read-out stands; None where none was begun."""
    numbered = tuple(events)
    asked = [(number, each) for number, event in numbered for each in _asked(event)]
    begun = next((number for number, each in reversed(asked) if each.get("about") == "radio_report"), None)
    if begun is None:
        return None
    # What was on record when it began: values that came since do not change what is being read.
    before = tuple((number, event) for number, event in numbered if number < begun)
    at_s = next(event.at_s for number, event in numbered if number == begun)
    place = read_out(summarised(before, kit, began=began, until_s=at_s))
    for number, each in asked:
        if number > begun:
            place = _after(place, each)
    return place


def _after(place: ReadOut, asked: dict[str, Any]) -> ReadOut:
    if asked.get("about") == "go_ahead":
        return place.gone_ahead()
    if asked.get("about") == "repeat_all_after":
        return place.all_after(str(asked.get("detail"))) or place
    return place


def _asked(event: ev.Event) -> Iterator[dict[str, Any]]:
    """The questions in a turn that was taken."""
    if isinstance(event, ev.UtteranceHeard) and event.outcome == "taken":
        yield from (meaning for meaning in event.meanings if meaning.get("kind") == "question")
