"""Answers to what the medic asks.

Every time is said "to reserve", rounded down, with the bottle or the patient where there are several.
"""

from __future__ import annotations

import math
from dataclasses import replace

from assistant.dialogue.asking import question_said
from assistant.dialogue.numbers_said import cardinal, minutes_said, said, spelled
from assistant.dialogue.readback import (
    DEVICE_SAID,
    ago_said,
    cylinder_said,
    litres_said,
    patient_said,
    pressure_said,
    sentence,
    vital_said,
)
from assistant.dialogue.supply_now import SupplyNow, supply_now
from assistant.grammar import Grammar
from assistant.incident.coverage import lasting_flow_l_min
from assistant.incident.state import Cylinder, State
from assistant.meaning import kinds as k
from assistant.oxygen.refusal import OxygenError
from assistant.oxygen.sizes import letter_meaning
from assistant.oxygen.supply import spoken_minutes, spoken_range
from assistant.quantity import convert

COUNTRY_SAID = {"US": "America", "UK": "Britain", "EU": "Europe", "AU": "Australia"}


def time_remaining(question: k.Question, state: State, at_s: float) -> tuple[str, str | None, str | None]:
    """The minutes to reserve; or (reply, kind still needed, its subject)."""
    cylinder = _asked_about(question, state)
    if cylinder is None:
        return "No cylinder is in use.", None, None
    now = supply_now(cylinder, state, at_s)
    if question.flow is not None:
        return _supposing(question.flow.value, cylinder, now, state, at_s)
    if now.minutes is not None:
        return remaining_said(now, state), None, None
    if now.lacks:
        return question_said(now.lacks[0], state, cylinder.name), now.lacks[0], cylinder.name
    return "The flow is off. Nothing is being used.", None, None


def _supposing(
    flow_l_min: float, cylinder: Cylinder, now: SupplyNow, state: State, at_s: float
) -> tuple[str, str | None, str | None]:
    """The minutes at a flow that is only supposed, and what is set, which stays; or what is still needed."""
    lacks = [kind for kind in now.lacks if kind != "flow_rate"]
    if lacks or cylinder.estimate is None:
        about = lacks[0] if lacks else "gauge_reading"
        return question_said(about, state, cylinder.name), about, cylinder.name
    if flow_l_min <= 0:
        return "With the flow off nothing is used. The flow is not changed.", None, None
    minutes = cylinder.estimate.flowing(at_s, flow_l_min).minutes_to(at_s, state.kit.reserve_bar)
    told = remaining_said(replace(now, minutes=minutes), state)
    kept = "No flow is set" if now.flow_l_min is None else f"The flow stays at {litres_said(now.flow_l_min)}"
    return f"{sentence(f'if it were {litres_said(flow_l_min)}')} {told} {sentence(kept)}", None, None


def remaining_said(now: SupplyNow, state: State) -> str:
    """ "About thirteen minutes, one three, to reserve.", with the bottle or patient where there are several."""
    if now.minutes is None:
        return ""
    minutes = spoken_minutes(now.minutes)
    if len(state.patients) > 1 and now.patient:
        lead = f"{patient_said(now.patient)}, "
    elif len(state.cylinders) > 1:
        lead = f"{cylinder_said(now.cylinder)}, "
    else:
        lead = ""
    if minutes <= 0:
        return sentence(f"{lead}at or below reserve: change the cylinder")
    wide = spoken_range(now.minutes)
    if wide is not None:
        span = f"between {cardinal(wide[0])} and {minutes_said(wide[1])}"
        return sentence(f"{lead}{span} to reserve. Read the gauge again")
    return sentence(f"{lead}about {minutes_said(minutes)} to reserve")


def pressure_answer(question: k.Question, state: State, at_s: float) -> str:
    """Where the needle should be now, rounded down to the gauge's steps, and what was last read."""
    cylinder = _asked_about(question, state)
    if cylinder is None or cylinder.value is None or cylinder.unit is None or cylinder.read_at_s is None:
        return "No gauge reading yet."
    read = pressure_said(cylinder.value, cylinder.unit, state.kit.pressure_unit)
    last = sentence(f"last read {read}, {ago_said(at_s - cylinder.read_at_s)}")
    if cylinder.estimate is None:
        return last
    mean_bar, _ = cylinder.estimate.pressure_bar(at_s)
    step = 10.0 if cylinder.unit == "psi" else 1.0
    value = math.floor(convert(mean_bar, "bar", cylinder.unit) / step) * step
    estimate = pressure_said(max(0.0, value), cylinder.unit, state.kit.pressure_unit)
    return f"{sentence(f'{cylinder_said(cylinder.name)} should be near {estimate}')} {last}"


def lasting_flow(question: k.Question, state: State, at_s: float) -> tuple[str, str | None, str | None]:
    """The highest regulator setting that lasts to hand-over; offered, never advised."""
    cylinder = _asked_about(question, state)
    if cylinder is None:
        return "No cylinder is in use.", None, None
    if state.handover_at_s is None:
        return question_said("time_to_handover", state), "time_to_handover", None
    lacks = [kind for kind in supply_now(cylinder, state, at_s).lacks if kind != "flow_rate"]
    if lacks or cylinder.estimate is None:
        about = lacks[0] if lacks else "gauge_reading"
        return question_said(about, state, cylinder.name), about, cylinder.name
    return _lasting_said(cylinder, state, at_s), None, None


def _lasting_said(cylinder: Cylinder, state: State, at_s: float) -> str:
    patient = state.patients.get(cylinder.patient or state.patient)
    highest_l_min = lasting_flow_l_min(state, patient, cylinder, at_s)
    device = DEVICE_SAID[patient.device] if patient is not None and patient.device is not None else None
    if highest_l_min is None:
        which = f"no setting for the {device}" if device else "no setting"
        return f"{sentence(f'{which} lasts to hand-over on this bottle')} Plan a change, or an earlier pick-up."
    if patient is not None and patient.flow_l_min and highest_l_min >= patient.flow_l_min:
        return "The present flow lasts to hand-over."
    limit = f" and is within the {device}'s range" if device else ""
    words = f"up to {litres_said(highest_l_min)} would last to hand-over on this bottle{limit}"
    return f"{sentence(words)} Or change bottles, or ask for an earlier pick-up. Your protocol decides the flow."


def latest_vitals(question: k.Question, state: State, at_s: float) -> str:
    """The latest vital signs with their age."""
    patient = state.patients.get(question.patient or state.patient)
    if patient is None or not patient.vitals:
        return "No vital signs noted yet."
    lead = f"{sentence(patient_said(patient.name))} " if len(state.patients) > 1 else ""
    parts = [f"{vital_said(sign, v.value)}, {ago_said(at_s - v.at_s)}" for sign, v in patient.vitals.items()]
    return lead + " ".join(sentence(part) for part in parts)


def cylinders_left(state: State, at_s: float) -> str:
    """Which cylinders still hold gas above the reserve, and how much their gauges should show."""
    held = []
    for cylinder in state.cylinders.values():
        now = supply_now(cylinder, state, at_s)
        if now.pressure is None or convert(now.pressure.value, now.pressure.unit, "bar") <= state.kit.reserve_bar:
            continue
        step = 10.0 if now.pressure.unit == "psi" else 1.0
        value = math.floor(now.pressure.value / step) * step
        pressure = pressure_said(value, now.pressure.unit, state.kit.pressure_unit)
        held.append(sentence(f"{cylinder_said(cylinder.name)}, about {pressure}"))
    return " ".join(held) or "No cylinder is known to hold more than the reserve."


def size_meaning(question: k.Question, state: State) -> str:
    """What a size holds in this kit, and the other contents that its letter has elsewhere."""
    size = question.detail
    cylinder = state.kit.cylinder(size) if size is not None else None
    if cylinder is None:
        return "That size is not in the kit."
    bar = cylinder.spec.service_bar
    if bar is None:
        return "The kit does not say what that size holds when full."
    litres = math.floor(cylinder.spec.content_l(bar))
    here = f"here {spelled(cylinder.size)} counts as {said(litres)} litres when full"
    assumed = "No country is set in the kit, so the smaller is used." if cylinder.assumed else ""
    return " ".join(filter(None, (sentence(here), _elsewhere(cylinder.size), assumed)))


def _elsewhere(letter: str) -> str:
    """By country, the least and the most that the letter stands for in print; nothing for a size of one's own."""
    try:
        meanings = letter_meaning(letter).meanings
    except OxygenError:
        return ""
    countries = dict.fromkeys(size.country for size in meanings)
    spans = []
    for country in countries:
        contents = [litres for size in meanings if size.country == country for litres in size.nominal_l]
        low, high = said(math.floor(min(contents))), said(math.floor(max(contents)))
        spans.append(f"{COUNTRY_SAID[country]} {low}" + (f" to {high}" if high != low else ""))
    return sentence(f"in print: {', '.join(spans)} litres") if len(spans) > 1 or len(meanings) > 1 else ""


def sayable(grammar: Grammar) -> tuple[str, ...]:
    """A few examples of what can be said, from the grammar's own; the rest is on the screen."""
    wanted = ("gauge_reading", "cylinder_size", "flow_rate", "delivery_device", "vital_sign", "time_remaining")
    first = {entry.rule: entry.example for entry in grammar.help()}
    examples = [first[rule] for rule in wanted if rule in first]
    return ("You can say:", *(sentence(example) for example in examples))


def _asked_about(question: k.Question, state: State) -> Cylinder | None:
    if question.cylinder is not None:
        return state.cylinders.get(question.cylinder)
    return state.supply_of(question.patient or state.patient) or state.cylinders.get(state.cylinder)
