"""Events go to JSON and come back the same; what is no event is refused with a reason."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.incident import events as ev
from assistant.incident.events_json import (
    EventError,
    event_from_json,
    event_once_written,
    event_to_json,
    event_to_text,
)


def through_json(event: ev.Event) -> ev.Event:
    return event_from_json(json.loads(json.dumps(event_to_json(event))))


def test_every_kind_comes_back_the_same(one_of_each: tuple[ev.Event, ...]) -> None:
    assert tuple(map(through_json, one_of_each)) == one_of_each


@given(at_s=st.floats(0, 1e6), pressure_bar=st.floats(0, 400), value=st.floats(0, 6000))
def test_no_digit_of_a_number_is_lost(at_s: float, pressure_bar: float, value: float) -> None:
    read = ev.GaugeRead(at_s=at_s, cylinder="1", value=value, unit="psi", pressure_bar=pressure_bar)
    assert through_json(read) == read


@given(st.text())
def test_any_text_survives(text: str) -> None:
    text = text.encode("utf-8", "ignore").decode()
    assert through_json(ev.NoteMade(at_s=0.0, text=text)) == ev.NoteMade(at_s=0.0, text=text)


def test_what_was_written_is_read_faster_and_the_same(one_of_each: tuple[ev.Event, ...]) -> None:
    for event in one_of_each:
        value = json.loads(event_to_text(event))
        assert event_once_written(value) == event_from_json(value) == event
        more = {**value, "of_a_later_version": 1}
        assert event_once_written(more) == event
        other = {name: each for name, each in more.items() if name != "at_s"}
        with pytest.raises(EventError, match="at_s is missing"):
            event_once_written(other)


FLOW = {"kind": "flow_set", "at_s": 4.0, "patient": "1", "flow_l_min": 15.0}


def test_a_whole_number_is_taken_where_a_fraction_may_stand() -> None:
    flow = event_from_json({**FLOW, "flow_l_min": 15})
    assert flow == ev.FlowSet(at_s=4.0, patient="1", flow_l_min=15.0)
    assert isinstance(flow, ev.FlowSet)
    assert type(flow.flow_l_min) is float


def test_a_field_of_a_later_version_is_left_out() -> None:
    assert event_from_json({**FLOW, "humidity": 3}) == event_from_json(FLOW)


@pytest.mark.parametrize(
    ("value", "reason"),
    [
        (["flow_set"], "an event is a JSON object"),
        ({"kind": "flow_sett", "at_s": 4.0}, "'flow_sett' is no kind of event"),
        ({"kind": ["flow_set"], "at_s": 4.0}, r"\['flow_set'\] is no kind of event"),
        ({"at_s": 4.0}, "None is no kind of event"),
        ({**FLOW, "flow_l_min": "15"}, "flow_set: flow_l_min is no finite number"),
        ({**FLOW, "flow_l_min": True}, "flow_set: flow_l_min is no finite number"),
        ({**FLOW, "flow_l_min": float("nan")}, "flow_set: flow_l_min is no finite number"),
        ({**FLOW, "patient": 1}, "flow_set: patient is no text"),
        ({"kind": "flow_set", "at_s": 4.0}, "flow_set: flow_l_min, patient is missing"),
        ({"kind": "target_set", "at_s": 1.0, "patient": "1", "low": 94.5, "high": 98}, "low is no whole number"),
        ({"kind": "withdrawn", "at_s": 1.0, "numbers": 3}, "numbers is no list"),
        ({"kind": "question_closed", "at_s": 1.0, "answered": 1}, "answered is neither true nor false"),
        ({"kind": "utterance_heard", "at_s": 1.0, "heard": "", "hypotheses": [["a"]]}, "hypotheses holds 2 values"),
        ({"kind": "utterance_heard", "at_s": 1.0, "heard": "", "meanings": ["a"]}, "meanings is no JSON object"),
    ],
)
def test_what_is_no_event_is_refused_with_a_reason(value: Any, reason: str) -> None:
    with pytest.raises(EventError, match=reason):
        event_from_json(value)
