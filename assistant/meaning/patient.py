"""Builders for the patient's signs, the saturation aimed at, and who is spoken of."""

from __future__ import annotations

from dataclasses import replace

from assistant.grammar import Node
from assistant.meaning.breath import given_to
from assistant.meaning.kinds import Attend, BareNumber, CylinderChange, Meaning, TargetSaturation, VitalSign
from assistant.meaning.registry import TwoOwnersError, builds, meanings_of
from assistant.meaning.tree import first, number, ordinal, ordinals, tag, under
from assistant.oxygen.kit import Kit

CONSCIOUSNESS = ("A", "V", "P", "U")
SIGN_OF = {
    "saturation_value": ("oxygen_saturation", "%"),
    "heart_rate_value": ("heart_rate", "/min"),
    "respiratory_value": ("respiratory_rate", "/min"),
    "systolic_value": ("systolic", "mmHg"),
    "diastolic_value": ("diastolic", "mmHg"),
}
"""The rule that holds a sign's number: the sign and its unit."""


@builds("saturation", "heart_rate", "respiratory_rate", "blood_pressure")
def measured_sign(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """One meaning for each number said; of a restarted one, the last."""
    rules = dict.fromkeys(inner.rule for inner in under(node, *SIGN_OF))
    return tuple(_sign(rule, number(node, rule)) for rule in rules)


def _sign(rule: str, value: float) -> Meaning:
    """A sign is a whole number: of one with a fraction it must be asked what was meant."""
    sign, unit = SIGN_OF[rule]
    if value != int(value):
        return BareNumber(value=value, unit=unit)
    return VitalSign(sign=sign, value=int(value))


@builds("consciousness", "avpu_word", "avpu_alone", "state_said")
def consciousness(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """The letter of AVPU."""
    letter = tag(node, CONSCIOUSNESS)
    assert letter is not None
    return (VitalSign(sign="consciousness", value=letter),)


@builds("target_saturation")
def target_saturation(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """Both ends of the range, as they were said; of one with a fraction it must be asked what was meant."""
    low, high = number(node, "target_low"), number(node, "target_high")
    if low != int(low) or high != int(high):
        return tuple(BareNumber(value=end, unit="%") for end in (low, high))
    return (TargetSaturation(low=int(low), high=int(high)),)


@builds("attend", "patient_named", "patient_named_is")
def attend(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """The patient or the cylinder named."""
    return (
        Attend(patient=ordinal(node, "named_patient", "named_patient_is"), cylinder=ordinal(node, "numbered_cylinder")),
    )


@builds("item")
def item(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """What was said, for the patient named after it ("fifteen litres for patient two").

    What names no patient itself, as a gauge, is said of the cylinder of the patient attended to from here on. A gauge
    "on number three" is that of cylinder three. Raises TwoOwnersError where it is said of two patients.
    """
    if len(set(ordinals(node, "for_patient"))) > 1:
        raise TwoOwnersError("a value is of one patient")
    said = tuple(meaning for value in under(node, "value") for meaning in meanings_of(value, kit))
    named = first(node, "for_patient")
    patient = ordinal(node, "for_patient")
    if named is None or patient is None:
        return said
    if "number" in named.words() and not {"patient", "casualty"}.intersection(named.words()):
        called = given_to("cylinder", patient, said)
        if called != said:
            return called
    given = tuple(replace(m, patient=patient) if isinstance(m, CylinderChange) else m for m in said)
    given = given_to("patient", patient, given)
    return given if given != said else (Attend(patient=patient), *said)
