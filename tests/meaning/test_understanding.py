"""Hypotheses become readings: merged by meaning, best first, nothing from what does not parse."""

from __future__ import annotations

from dataclasses import replace
from math import exp, isclose, log

import pytest

from assistant.grammar import Grammar
from assistant.meaning.breath import in_order
from assistant.meaning.kinds import (
    Attend,
    Correction,
    CylinderChange,
    CylinderSize,
    FlowRate,
    GaugeReading,
    Meaning,
    Question,
    VitalSign,
)
from assistant.meaning.typed import typed
from assistant.meaning.understand import understand
from assistant.oxygen.kit import Kit
from assistant.quantity import Measure
from assistant.utterance import Hypothesis, Utterance

KIT_IN_BAR = """
pressure_unit = "bar"
reserve = "10 bar"
[[cylinder]]
called = ["small"]
size = "2 L"
water_capacity = "2 L"
service_pressure = "200 bar"
"""


def heard(*likely: tuple[str, float]) -> Utterance:
    return Utterance(hypotheses=tuple(Hypothesis(words=tuple(t.split()), log_likelihood=score) for t, score in likely))


def psi(value: float) -> GaugeReading:
    return GaugeReading(pressure=Measure(value=value, unit="psi"))


def litres(value: float) -> FlowRate:
    return FlowRate(flow=Measure(value=value, unit="L/min"))


def saturation(value: int, patient: str | None = None) -> VitalSign:
    return VitalSign(sign="oxygen_saturation", value=value, patient=patient)


def test_hypotheses_that_mean_the_same_are_added_up(grammar: Grammar, kit: Kit) -> None:
    utterance = heard(
        ("gauge reads sixteen hundred", -1.0),
        ("gauge reads fifteen hundred", -1.2),
        ("the gauge reads fifteen hundred", -1.3),
    )
    first, second = understand(utterance, grammar, kit)[:2]
    assert first.meanings == (psi(1500),)
    assert first.words == ("gauge", "reads", "fifteen", "hundred")
    assert isclose(first.log_score, log(exp(-1.2) + exp(-1.3)))
    assert second.meanings == (psi(1600),)
    assert second.log_score == -1.0


def test_what_does_not_parse_gives_nothing(grammar: Grammar, kit: Kit) -> None:
    utterance = heard(
        ("gauge reads the boat", -1.0), ("[unk]", -1.5), ("[unk] [unk]", -1.6), ("gauge [unk] hundred", -2.0)
    )
    assert understand(utterance, grammar, kit) == ()
    assert understand(Utterance(), grammar, kit) == ()
    assert understand(heard(("", 0.0)), grammar, kit) == ()


def test_an_ambiguous_sentence_has_a_reading_for_each_meaning(grammar: Grammar, kit: Kit) -> None:
    readings = understand(heard(("gauge a hundred forty five litres", -3.0)), grammar, kit)
    assert {(psi(140), litres(5)), (psi(100), litres(45))} <= {reading.meanings for reading in readings}
    assert readings[0].log_score == -3.0
    assert all(reading.log_score < -3.0 for reading in readings[1:])


def test_a_pressure_without_a_unit_has_the_kits(grammar: Grammar) -> None:
    kit = Kit.from_toml(KIT_IN_BAR)
    (reading,) = understand(heard(("gauge reads one forty", 0.0)), grammar, kit)[:1]
    assert reading.meanings == (GaugeReading(pressure=Measure(value=140, unit="bar")),)


def test_a_value_taken_back_in_the_same_breath_is_dropped() -> None:
    said: tuple[Meaning, ...] = (psi(1500), Correction(), psi(1600), litres(15))
    assert in_order(said) == (psi(1600), litres(15))


def test_a_correction_of_something_else_stays() -> None:
    said: tuple[Meaning, ...] = (psi(1500), Correction(), litres(12))
    assert in_order(said) == said
    assert in_order((Correction(), litres(12))) == (Correction(), litres(12))


def test_another_sign_is_no_restart() -> None:
    said = (saturation(94), Correction(), VitalSign(sign="heart_rate", value=94))
    assert in_order(said) == said


def test_a_named_patient_gets_what_follows_and_at_the_end_what_went_before() -> None:
    assert in_order((Attend(patient="2"), saturation(94))) == (saturation(94, "2"),)
    assert in_order((saturation(94), Attend(patient="2"))) == (saturation(94, "2"),)
    between = in_order((Attend(patient="1"), saturation(94), Attend(patient="2"), saturation(90)))
    assert between == (saturation(94, "1"), saturation(90, "2"))
    assert in_order((Attend(patient="2"),)) == (Attend(patient="2"),)


@pytest.mark.parametrize(
    ("line", "meanings"),
    [
        ("it's eight hundred and fifty on number three", (replace(psi(850), cylinder="3"),)),
        ("sats ninety on number two", (saturation(90, "2"),)),
        ("switching complete tank three is online", (CylinderChange(cylinder="3"),)),
        ("we carry the small bottles so it's a delta", (CylinderSize(size="D"),)),
    ],
)
def test_a_number_names_a_cylinder_or_a_patient_and_nothing_is_said_twice(
    line: str, meanings: tuple[Meaning, ...], grammar: Grammar, kit: Kit
) -> None:
    assert understand(typed(line, grammar), grammar, kit)[0].meanings == meanings


def test_two_flows_supposed_in_one_question_mean_nothing(grammar: Grammar, kit: Kit) -> None:
    assert in_order((Question(about="time_remaining", flow=litres(14).flow), replace(litres(15), bare=True))) == ()
    assert understand(typed("how long at 14 litres", grammar), grammar, kit)[0].meanings == (
        Question(about="time_remaining", flow=litres(14).flow),
    )


def test_a_pressure_of_two_cylinders_is_of_neither(grammar: Grammar, kit: Kit) -> None:
    line = "in bottle one i see 33 bar left in bottle"
    assert understand(typed(f"{line} 2", grammar), grammar, kit) == ()
    assert understand(typed(f"{line} 1", grammar), grammar, kit)[0].meanings[0].kind == "gauge_reading"
