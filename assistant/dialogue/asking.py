"""Questions of the assistant: their words, and which one is needed next. One at a time, asked three times at most."""

from __future__ import annotations

from assistant.dialogue.readback import (
    cylinder_said,
    litres_said,
    patient_said,
    pressure_said,
    read_back,
    sentence,
    size_said,
    vital_said,
)
from assistant.dialogue.supply_now import supply_now
from assistant.incident import events as ev
from assistant.incident.state import Pending, State
from assistant.meaning import kinds as k
from assistant.meaning.contract import from_json

ASKABLE = (
    "gauge_reading",
    "cylinder_size",
    "flow_rate",
    "delivery_device",
    "time_to_handover",
    "oxygen_saturation",
    "heart_rate",
    "respiratory_rate",
    "consciousness",
)
# Asked once and again twice; after that it stays on the screen and is not spoken.
MOST_TRIES = 3

_WORDS = {
    "gauge_reading": "What does the gauge read?",
    "flow_rate": "What flow is set?",
    "vital_sign": "What is the saturation?",
    "oxygen_saturation": "What is the saturation?",
    "heart_rate": "What is the heart rate?",
    "respiratory_rate": "What is the breathing rate?",
    "time_to_handover": "How many minutes to hand-over?",
    "delivery_device": "Which delivery device?",
    "target_saturation": "What saturation is aimed at?",
    "altitude": "What is the altitude?",
    "temperature": "What is the temperature?",
    "consciousness": "Alert, voice, pain or unresponsive?",
}


SAY_AGAIN = "Say it all again, please."
FIRST_OR_SECOND = " The first one, or the second one?"

PROBLEM_SAID = {
    "no_flow": "no gas comes",
    "regulator_loose": "the regulator is loose",
    "washer_missing": "the washer is missing",
    "valve_stuck": "the valve is stuck",
    "reservoir_collapses": "the bag collapses",
    "patient_unresponsive": "the patient does not respond",
}


def question_said(about: str, state: State, subject: str | None = None) -> str:
    """The question in words, naming the cylinder where there are several."""
    if about == "cylinder_size":
        names = ", ".join(size_said(c.size, state).split(",")[0] for c in state.kit.cylinders)
        which = f"{cylinder_said(subject)}" if subject and len(state.cylinders) > 1 else "the cylinder"
        return f"What size is {which}: {names}?"
    if about == "gauge_reading" and subject and len(state.cylinders) > 1:
        return f"What does the gauge of {cylinder_said(subject)} read?"
    if about == "cylinder_change":
        return f"Which bottle supplies {patient_said(subject or state.patient)}?"
    return _WORDS.get(about, "Say that again, please.")


def needed_next(state: State, at_s: float) -> ev.QuestionAsked | None:
    """What must be known before minutes can be told, once a flow runs; None where nothing is missing."""
    for patient in state.patients.values():
        supply = state.supply_of(patient.name)
        if not patient.flow_l_min:
            continue
        if supply is None:
            return _asked("cylinder_change", patient.name, state, at_s)
        lacks = supply_now(supply, state, at_s).lacks
        if lacks:
            return _asked(lacks[0], supply.name, state, at_s)
    return None


def _asked(about: str, subject: str, state: State, at_s: float) -> ev.QuestionAsked | None:
    before = state.question
    same = before is not None and before.about == about and before.subject == subject
    tries = before.tries + 1 if before is not None and same else 1
    if tries > MOST_TRIES:
        return None
    return ev.QuestionAsked(at_s=at_s, about=about, tries=tries, subject=subject)


def asked_again(pending: Pending, at_s: float) -> ev.QuestionAsked | None:
    """The pending question once more, unless it was asked often enough."""
    if pending.tries >= MOST_TRIES:
        return None
    return ev.QuestionAsked(
        at_s=at_s,
        about=pending.about,
        choices=pending.choices,
        rest=pending.rest,
        tries=pending.tries + 1,
        subject=pending.subject,
        believed=pending.believed,
        together=pending.together,
    )


def asked_with(alert: ev.AlertRaised, state: State) -> ev.QuestionAsked | None:
    """An overdue reading is a question too, so that a bare number answers it; not while another one is open."""
    if alert.alert != "reading_overdue" or (state.question is not None and state.question.choices):
        return None
    return ev.QuestionAsked(at_s=alert.at_s, about="gauge_reading", subject=alert.cylinder)


def choices_of(question: ev.QuestionAsked | Pending) -> list[k.Meaning]:
    """The readings to choose from, as meanings."""
    return [from_json(choice) for choice in question.choices]


def asked_in_words(question: ev.QuestionAsked | Pending, state: State) -> str:
    """What is asked: for a value, for all of it again, or which of the readings to choose from is right."""
    if not question.choices:
        return SAY_AGAIN if question.together else question_said(question.about, state, question.subject)
    rest = tuple(from_json(one) for one in question.rest) if question.together else ()
    return choice_said(tuple(choices_of(question)), state, rest)


def choice_said(choices: tuple[k.Meaning, ...], state: State, rest: tuple[k.Meaning, ...] = ()) -> str:
    """Two readings to choose from, or one to confirm, `rest` with it: "Sixteen hundred, or eighteen hundred?".

    Two that were mistaken for one another may be again: so a word is asked for that is like no other.
    """
    if rest:
        values = (*choices, *(m for m in rest if read_back((m,), state) or isinstance(m, k.Problem)))
        owners = [_other_owner(m, state) for m in values]
        parts = [_choice_part(m, state, bare=False) for m in values]
        new = [owner if owner not in owners[:at] else "" for at, owner in enumerate(owners)]
        return f"{sentence('; '.join(map(_owned, new, parts)))[:-1]}, yes or no?"
    parts = [_choice_part(m, state, bare=_same_kind(choices)) for m in choices]
    owners = [_other_owner(m, state) for m in choices]
    if len(set(parts)) < len(parts) or len(set(owners)) > 1:
        owners = [_owner(m, state) for m in choices]
    elif len(parts) > 1:
        owners[1:] = [""] * (len(parts) - 1)
    text = ", or ".join(map(_owned, owners, parts))
    if len(parts) == 1:
        return f"{sentence(text)[:-1]}, yes or no?"
    return f"{text[:1].upper()}{text[1:]}?{FIRST_OR_SECOND if len(parts) == 2 else ''}"


def _owned(owner: str, part: str) -> str:
    return f"{owner}, {part}" if owner and not part.startswith(owner) else part


def _owner(m: k.Meaning, state: State) -> str:
    """Whose value it is: what tells two readings apart that have the same value."""
    if isinstance(m, k.GaugeReading | k.CylinderSize):
        return cylinder_said(m.cylinder or state.cylinder)
    return patient_said(getattr(m, "patient", None) or state.patient)


def _other_owner(m: k.Meaning, state: State) -> str:
    """The bottle or patient that a value is of, where it is not the one in use or in hand."""
    if isinstance(m, k.GaugeReading | k.CylinderSize):
        return _owner(m, state) if m.cylinder not in (None, state.cylinder) else ""
    if isinstance(m, k.FlowRate | k.DeliveryDevice | k.VitalSign | k.TargetSaturation):
        return _owner(m, state) if getattr(m, "patient", None) not in (None, state.patient) else ""
    return ""


def _same_kind(choices: tuple[k.Meaning, ...]) -> bool:
    return len(choices) > 1 and len({(m.kind, getattr(m, "sign", None)) for m in choices}) == 1


def _choice_part(m: k.Meaning, state: State, *, bare: bool) -> str:
    match m:
        case k.GaugeReading():
            value = pressure_said(m.pressure.value, m.pressure.unit, state.kit.pressure_unit)
            return value if bare else f"gauge {value}"
        case k.CylinderChange(cylinder=None):
            return "another bottle in use"
        case k.Problem():
            return PROBLEM_SAID.get(m.what, m.what.replace("_", " "))
        case k.FlowRate():
            return litres_said(m.flow.value) if bare else f"flow {litres_said(m.flow.value)}"
        case k.VitalSign():
            text = vital_said(m.sign, m.value)
            return text.split(" ", 1)[1] if bare and m.sign == "oxygen_saturation" else text
        case _:
            sentences = read_back((m,), state)
            return sentences[0].rstrip(".").lower() if sentences else m.kind.replace("_", " ")
