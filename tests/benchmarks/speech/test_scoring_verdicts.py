"""A verdict is right for exactly what was said, and a wrong value is never called anything else."""

import pytest
from scoring import Share, fits, settled, verdict, wrong_value

GAUGE = {"kind": "gauge_reading", "pressure": {"value": 1500, "unit": "psi"}}
OTHER = {"kind": "gauge_reading", "pressure": {"value": 1600, "unit": "psi"}}
FLOW = {"kind": "flow_rate", "flow": {"value": 15, "unit": "L/min"}}
UNDO = {"kind": "correction"}
ASKS = {"kind": "question", "about": "time_remaining"}


@pytest.mark.parametrize(
    ("expected", "outcome", "understood", "word"),
    [
        ([GAUGE], "taken", [GAUGE], "right"),
        ([GAUGE], "taken", [{**GAUGE, "cylinder": "1"}], "right"),
        ([GAUGE], "taken", [OTHER], "wrong"),
        ([GAUGE], "taken", [GAUGE, FLOW], "wrong"),
        ([GAUGE, FLOW], "taken", [GAUGE], "part"),
        ([GAUGE, FLOW], "taken", [FLOW, GAUGE], "right"),
        ([GAUGE], "taken", [UNDO, GAUGE], "wrong"),
        ([GAUGE], "asked", [GAUGE], "asked"),
        ([GAUGE], "refused", [GAUGE], "missed"),
        ([GAUGE], "ignored", [], "missed"),
        ([UNDO], "refused", [UNDO], "right"),
        ([ASKS], "taken", [GAUGE], "wrong"),
        ([UNDO, {"kind": "number", "value": 1500}], "taken", [UNDO, GAUGE], "right"),
        ([UNDO, {"kind": "number", "value": 1500}], "taken", [UNDO, OTHER], "wrong"),
        ([OTHER], "taken", [GAUGE, UNDO, OTHER], "right"),
        ([{"kind": "answer", "yes": False}], "taken", [UNDO], "right"),
    ],
)
def test_verdict(expected, outcome, understood, word):
    assert verdict(expected, outcome, understood) == word


def test_a_named_cylinder_has_to_be_the_one_that_was_named():
    assert not fits({**GAUGE, "cylinder": "2"}, {**GAUGE, "cylinder": "1"})


def test_a_unit_is_part_of_the_value():
    assert not fits(GAUGE, {"kind": "gauge_reading", "pressure": {"value": 1500, "unit": "bar"}})


def test_a_patient_spoken_of_goes_into_what_follows():
    pulse = {"kind": "vital_sign", "sign": "heart_rate", "value": 80}
    assert settled([{"kind": "attend", "patient": "2"}, pulse]) == [{**pulse, "patient": "2"}]


def test_a_wrong_question_is_no_wrong_value():
    assert wrong_value([GAUGE], [OTHER])
    assert not wrong_value([GAUGE], [ASKS])


def test_wilson_interval():
    """Ten of a hundred: 5.5 to 17.4 percent (Wilson's formula worked by hand)."""
    low, high = Share(10, 100).interval
    assert (round(low, 1), round(high, 1)) == (5.5, 17.4)
    assert Share(0, 300).interval[1] < 1.3
