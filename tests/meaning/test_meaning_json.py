"""Meanings to the contract's JSON and back."""

from __future__ import annotations

import json
from typing import Any

import pytest

from assistant.meaning import kinds
from assistant.meaning.contract import MeaningError, from_json, to_json
from assistant.quantity import Measure

# The contract's table: kind, an object of it.
CONTRACT: list[dict[str, Any]] = [
    {"kind": "gauge_reading", "cylinder": "1", "pressure": {"value": 1500, "unit": "psi"}},
    {"kind": "gauge_reading", "pressure": {"value": 13.7, "unit": "MPa"}},
    {"kind": "cylinder_size", "cylinder": "1", "size": "D"},
    {"kind": "cylinder_change", "cylinder": "2"},
    {"kind": "flow_rate", "flow": {"value": 0.5, "unit": "L/min"}, "patient": "1"},
    {"kind": "delivery_device", "device": "venturi_mask", "oxygen_percent": 28, "patient": "1"},
    {"kind": "vital_sign", "sign": "oxygen_saturation", "value": 94, "patient": "1"},
    {"kind": "vital_sign", "sign": "consciousness", "value": "V"},
    {"kind": "time_to_handover", "minutes": 70},
    {"kind": "time_to_handover", "minutes": 7.5},
    {"kind": "target_saturation", "low": 94, "high": 98},
    {"kind": "altitude", "metres": 2590.8},
    {"kind": "temperature", "celsius": -5},
    {"kind": "question", "about": "time_remaining"},
    {"kind": "question", "about": "time_remaining", "flow": {"value": 10, "unit": "L/min"}},
    {"kind": "question", "about": "size_meaning", "detail": "D"},
    {"kind": "step", "move": "start", "procedure": "set_up", "at": "regulator"},
    {"kind": "step", "move": "skip", "reason": "already done"},
    {"kind": "problem", "what": "hissing"},
    {"kind": "answer", "yes": True},
    {"kind": "answer", "yes": False},
    {"kind": "answer", "yes": True, "choice": 2},
    {"kind": "correction"},
    {"kind": "correction", "back": 1},
    {"kind": "alarm_heard"},
    {"kind": "note", "text": "soot around the mouth"},
    {"kind": "attend", "patient": "2"},
    {"kind": "number", "value": 1500},
    {"kind": "number", "value": 94, "unit": "%"},
]


@pytest.mark.parametrize("said", CONTRACT, ids=json.dumps)
def test_an_object_survives_the_way_in_and_out(said: dict[str, Any]) -> None:
    assert json.dumps(to_json(from_json(said)), sort_keys=True) == json.dumps(said, sort_keys=True)


def test_every_kind_of_meaning_is_among_them() -> None:
    declared = {one.kind for one in vars(kinds).values() if isinstance(one, type) and hasattr(one, "kind")}
    assert declared == {said["kind"] for said in CONTRACT}


def test_the_contracts_own_example_comes_out_in_its_order() -> None:
    reading = kinds.GaugeReading(pressure=Measure(value=1500.0, unit="psi"), cylinder="1")
    assert (
        json.dumps(to_json(reading))
        == '{"kind": "gauge_reading", "cylinder": "1", "pressure": {"value": 1500, "unit": "psi"}}'
    )


@pytest.mark.parametrize(
    ("said", "names"),
    [
        ({}, "None"),
        ({"kind": "gague_reading"}, "gague_reading"),
        ({"kind": "gauge_reading"}, "pressure"),
        ({"kind": "gauge_reading", "pressure": 1500}, "pressure"),
        ({"kind": "gauge_reading", "pressure": {"value": "1500", "unit": "psi"}}, "pressure"),
        ({"kind": "gauge_reading", "pressure": {"value": 1500, "unit": "psi"}, "cylinder": 1}, "cylinder"),
        ({"kind": "answer", "yes": "no"}, "yes"),
        ({"kind": "target_saturation", "low": 94.5, "high": 98}, "low"),
        ({"kind": "time_to_handover", "minutes": True}, "minutes"),
        ({"kind": "note", "text": "a", "colour": "red"}, "colour"),
    ],
)
def test_what_is_no_meaning_is_refused_by_name(said: dict[str, Any], names: str) -> None:
    with pytest.raises(MeaningError, match=names):
        from_json(said)
