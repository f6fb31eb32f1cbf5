"""Cautions that go with what was just taken: a pressure too low to use, a flow outside the device's range.

They name the figure and the range and offer what can be done; they never change a value and never lower a dose.
"""

from __future__ import annotations

from assistant.dialogue.numbers_said import said
from assistant.dialogue.readback import DEVICE_SAID, sentence
from assistant.incident.state import State
from assistant.meaning import kinds as k
from assistant.oxygen.devices import Caution, cautions
from assistant.quantity import convert

# A cylinder at rest below this is not put to use (common practice, no source).
LOWEST_AT_REST_PSI = 200.0


def cautions_of(meanings: tuple[k.Meaning, ...], before: State, state: State, at_s: float) -> tuple[str, ...]:
    """The cautions that `meanings` call for, each once."""
    found: list[str] = []
    for meaning in meanings:
        if isinstance(meaning, k.GaugeReading):
            found += _low_pressure(meaning, state)
        if isinstance(meaning, k.FlowRate | k.DeliveryDevice):
            found += _flow_and_device(meaning.patient or state.patient, state)
    return tuple(dict.fromkeys(found))


def _low_pressure(reading: k.GaugeReading, state: State) -> list[str]:
    psi = convert(reading.pressure.value, reading.pressure.unit, "psi")
    cylinder = state.cylinders.get(reading.cylinder or state.cylinder)
    at_rest = cylinder is None or cylinder.flow_l_min == 0
    if at_rest and psi < LOWEST_AT_REST_PSI:
        return ["Below two hundred p s i: do not use. Refill or take another."]
    return []


def _flow_and_device(patient_name: str, state: State) -> list[str]:
    patient = state.patients.get(patient_name)
    if patient is None or patient.device is None or not patient.flow_l_min:
        return []
    found = cautions(
        patient.device,
        patient.flow_l_min,
        valve_percent=patient.oxygen_percent,
        simple_mask_minimum_l_min=state.kit.simple_mask_minimum_l_min,
    )
    return [_spoken(found[0], patient.device)] if found else []


# Why a flow below the range matters, by the kind of caution.
_WHY = {
    "rebreathing": "Below that the breath out may stay in the mask.",
    "reservoir": "Below that the bag may collapse.",
    "venturi_flow": "Check the valve's marking.",
}


def _spoken(caution: Caution, device: str) -> str:
    """The range in read-back numbers: "Non-rebreather takes one zero to one five litres." """
    span = f"{said(caution.low_l_min)} to {said(caution.high_l_min)} litres"
    why = _WHY.get(caution.kind, "")
    return f"{sentence(f'{DEVICE_SAID[device]} takes {span}')} {why}".rstrip()
