"""The spoken summary of all patients: who runs out first comes first, and all of it takes less than ten seconds."""

from __future__ import annotations

import math

from assistant.dialogue.numbers_said import counted, digits, said
from assistant.dialogue.readback import patient_said, sentence
from assistant.dialogue.supply_now import supply_now
from assistant.incident.state import Patient, State
from assistant.oxygen.supply import spoken_minutes

# At the voice's 160 words a minute ten seconds are 26 words; two are kept for "and … more".
MOST_WORDS = 24


def overview(state: State, at_s: float) -> str:
    """Minutes to reserve and saturation of every patient, as many as fit, the shortest supply first."""
    patients = sorted(state.patients.values(), key=lambda patient: _minutes(patient, state, at_s))
    sentences: list[str] = []
    for patient in patients:
        text = _of(patient, state, at_s)
        if len(" ".join([*sentences, text]).split()) > MOST_WORDS:
            left = len(patients) - len(sentences)
            return " ".join([*sentences, sentence(f"and {counted(left, 'more patient')}")])
        sentences.append(text)
    return " ".join(sentences)


def _minutes(patient: Patient, state: State, at_s: float) -> float:
    supply = state.supply_of(patient.name)
    now = supply_now(supply, state, at_s) if supply is not None else None
    return math.inf if now is None or now.minutes is None else now.minutes.expected


def _of(patient: Patient, state: State, at_s: float) -> str:
    supply = state.supply_of(patient.name)
    now = supply_now(supply, state, at_s) if supply is not None else None
    parts = [patient_said(patient.name)] if len(state.patients) > 1 else []
    if now is not None and now.minutes is not None:
        parts.append(f"{said(max(0, spoken_minutes(now.minutes)))} minutes to reserve")
    elif patient.flow_l_min:
        parts.append("minutes not known")
    else:
        parts.append("flow off")
    saturation = patient.vitals.get("oxygen_saturation")
    if saturation is not None:
        parts.append(f"saturation {digits(str(saturation.value))}")
    return sentence(", ".join(parts))
