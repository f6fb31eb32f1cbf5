"""How plausible a meaning is now, before it is heard: takes a meaning and the state, gives a natural logarithm.

0 is what is usual, below it is less so; what the open question or the step in hand expects is above. A value is held
against what the last ones make likely, with a share of surprises as the least it can get. Refuses nothing.
"""

from __future__ import annotations

from math import exp, log, pi, sqrt

from assistant.dialogue.answering import settled_number
from assistant.dialogue.checks import hardly_alive, refusal
from assistant.dialogue.sense import corrected_by, next_cylinder, number_as
from assistant.dialogue.weights import WEIGHTS as W
from assistant.incident.state import Cylinder, Patient, Pending, State
from assistant.meaning import kinds as k
from assistant.meaning.contract import from_json
from assistant.oxygen.devices import cautions
from assistant.quantity import convert

# Over what range each thing is spread where nothing is known of it: what a surprise is spread over.
_SPREAD = {
    "oxygen_saturation": 30.0,
    "heart_rate": 120.0,
    "respiratory_rate": 40.0,
    "systolic": 150.0,
    "diastolic": 90.0,
}
_SD = {
    "oxygen_saturation": W.saturation_sd,
    "heart_rate": W.heart_rate_sd,
    "respiratory_rate": W.respiratory_rate_sd,
    "systolic": W.pressure_sd_mmhg,
    "diastolic": W.pressure_sd_mmhg,
}
# What is usual in somebody who is given oxygen, and how far from it is usual still: our choice, from memory.
_USUAL = {
    "oxygen_saturation": (92.0, 8.0),
    "heart_rate": (95.0, 35.0),
    "respiratory_rate": (20.0, 9.0),
    "systolic": (125.0, 35.0),
    "diastolic": (75.0, 20.0),
}
_MARKS = {"psi": (50.0, 10.0), "bar": (5.0, 1.0), "MPa": (0.5, 0.1), "kPa": (500.0, 100.0)}


def plausibility(meanings: tuple[k.Meaning, ...], state: State, at_s: float, asks: str | None) -> float:
    """Of a whole reading: the sum over its meanings; `asks` is what the procedure's step waits for."""
    corrects = any(isinstance(m, k.Correction) for m in meanings) or bool(state.question and state.question.choices)
    total = 0.0
    for meaning in meanings:
        if k.Correction() in meanings and isinstance(meaning, k.BareNumber):
            meaning = corrected_by(meaning, state) or meaning
        meaning, expected = _as_asked(meaning, state, at_s, asks)
        total += expected + _of(meaning, meanings, state, at_s, corrects=corrects)
    return total


def _as_asked(meaning: k.Meaning, state: State, at_s: float, asks: str | None) -> tuple[k.Meaning, float]:
    """A bare number as what is asked for; and what it adds that this was asked for."""
    pending = state.question
    if isinstance(meaning, k.BareNumber):
        return _number(meaning, state, asks)
    if isinstance(meaning, k.Answer):
        return meaning, _of_answer(meaning, state, at_s)
    if pending is not None and pending.about in (meaning.kind, getattr(meaning, "sign", None)):
        return meaning, W.expected + _offered(meaning, pending)
    if pending is not None and pending.believed:
        return meaning, _offered(meaning, pending)
    return meaning, W.expected if asks is not None and asks in (meaning.kind, getattr(meaning, "sign", None)) else 0.0


def _number(number: k.BareNumber, state: State, asks: str | None) -> tuple[k.Meaning, float]:
    pending = state.question
    if pending is not None:
        sense = settled_number(number, pending, state)
        if sense is not None:
            return sense, W.expected + _offered(sense, pending)
    sense = number_as(asks, number, state) if asks else None
    return (sense, W.expected) if sense is not None else (number, W.out_of_place / 2)


def _of_answer(answer: k.Answer, state: State, at_s: float) -> float:
    pending = state.question
    if pending is not None and pending.choices:
        fits = answer.choice is None or answer.choice <= len(pending.choices)
        if len(pending.choices) == 1 and answer.choice is None and pending.believed:
            return W.expected + _confirmed(answer, pending)
        if len(pending.choices) == 2 and answer.choice is not None and fits and pending.believed:
            return W.expected + _chosen(answer.choice, pending)
        return W.expected if fits and (answer.choice is None or len(pending.choices) > 1) else W.out_of_place
    if answer.choice is not None:
        return W.out_of_place
    takes_back = not answer.yes and _just_taken(state, at_s)
    return 0.0 if state.procedure is not None or takes_back else W.out_of_place


def _offered(meaning: k.Meaning, pending: Pending) -> float:
    """What it adds that the question named this value, and named it first; or how probable it was when heard before.

    That was a probability already, so it is taken at its full worth.
    """
    if pending.believed:
        return log(1 + _probability(meaning, pending) / W.said_anew) / W.plausible
    places = [place for place, choice in enumerate(pending.choices) if _same_value(meaning, from_json(choice))]
    if not places:
        return 0.0
    return W.one_of_the_choices + (W.first_of_the_choices if places[0] == 0 and len(pending.choices) > 1 else 0.0)


def _probability(meaning: k.Meaning, pending: Pending) -> float:
    return sum(share for heard, share in pending.believed if _same_value(meaning, from_json(heard)))


def _confirmed(answer: k.Answer, pending: Pending) -> float:
    """What it adds to yes or no that the one value offered was as probable as it was."""
    share = min(max(_probability(from_json(pending.choices[0]), pending), W.said_anew), 1 - W.said_anew)
    return log(2 * (share if answer.yes else 1 - share)) / W.plausible


def _chosen(choice: int, pending: Pending) -> float:
    """What it adds to first or second that the value offered so was as probable as it was beside the other."""
    shares = [max(_probability(from_json(one), pending), W.said_anew) for one in pending.choices]
    return log(2 * shares[choice - 1] / sum(shares)) / W.plausible


def _same_value(one: k.Meaning, other: k.Meaning) -> bool:
    match one, other:
        case k.GaugeReading(), k.GaugeReading():
            return one.pressure == other.pressure
        case k.FlowRate(), k.FlowRate():
            return one.flow == other.flow
        case k.VitalSign(), k.VitalSign():
            return (one.sign, one.value) == (other.sign, other.value)
        case _:
            return one == other


def _of(m: k.Meaning, beside: tuple[k.Meaning, ...], state: State, at_s: float, *, corrects: bool) -> float:
    """The value itself, whatever was asked."""
    impossible = W.impossible if refusal(m, state) is not None else 0.0
    return impossible + _named(m, state) + _value(m, beside, state, at_s, corrects=corrects)


def _value(m: k.Meaning, beside: tuple[k.Meaning, ...], state: State, at_s: float, *, corrects: bool) -> float:
    match m:
        case k.GaugeReading():
            return _gauge(m, beside, state, at_s, corrects=corrects)
        case k.FlowRate():
            return _flow(m, beside, state)
        case k.VitalSign():
            return _vital(m, beside, state)
        case k.TimeToHandover():
            return _minutes(m.minutes)
        case k.Correction():
            return _correction(state, at_s)
        case k.AlarmHeard():
            return 0.0 if state.alerts else W.out_of_place
        case k.Step():
            return _step(m, state)
        case k.Note():
            return W.note
    return 0.0


def _minutes(minutes: float) -> float:
    """Who counts the minutes to hand-over is hours away at most, and not there already."""
    if minutes > W.most_minutes:
        return W.beyond_most_minutes
    return 0.0 if minutes >= W.fewest_minutes else W.below_fewest_minutes


def _step(step: k.Step, state: State) -> float:
    """A move has nothing to move where no procedure runs, least of all while a choice is to be made."""
    if state.procedure is not None or step.move == "repeat":
        return 0.0
    if step.move == "start":
        return 0.0 if step.at is None else W.out_of_place / 2
    chooses = state.question is not None and bool(state.question.choices)
    return 2 * W.out_of_place if chooses else W.out_of_place / 2


def _correction(state: State, at_s: float) -> float:
    if not state.taken:
        return W.out_of_place
    return W.corrects if _just_taken(state, at_s) else 0.0


def _just_taken(state: State, at_s: float) -> bool:
    return bool(state.taken) and at_s - state.taken[-1].turn_at_s <= W.corrected_within_s


def _named(m: k.Meaning, state: State) -> float:
    """A cylinder or patient by name: known, or the next one."""
    cylinder, patient = getattr(m, "cylinder", None), getattr(m, "patient", None)
    known_cylinder = cylinder is None or cylinder in state.cylinders or cylinder == next_cylinder(state)
    known_patient = patient is None or patient in state.patients or patient == str(len(state.patients) + 1)
    return (0.0 if known_cylinder else W.unknown_name) + (0.0 if known_patient else W.unknown_name)


def _gauge(m: k.GaugeReading, beside: tuple[k.Meaning, ...], state: State, at_s: float, *, corrects: bool) -> float:
    found = _between_marks(m.pressure.value, m.pressure.unit)
    named = m.cylinder or state.cylinder
    cylinder = state.cylinders.get(named)
    changed = any(isinstance(other, k.CylinderChange | k.Attend) for other in beside)
    if cylinder is None or changed:
        return found
    bar = convert(m.pressure.value, m.pressure.unit, "bar")
    if k.Correction() in beside and cylinder.pressure_bar is not None:
        return found + _around(bar, cylinder.pressure_bar, W.corrected_sd_bar, spread=150.0)
    return found if corrects else found + _against_needle(bar, cylinder, state, at_s)


def _between_marks(value: float, unit: str) -> float:
    coarse, fine = _MARKS.get(unit, (1.0, 1.0))
    if _multiple(value, coarse):
        return 0.0
    return W.between_marks if _multiple(value, fine) else W.between_fine_marks


def _multiple(value: float, step: float) -> bool:
    return abs(value / step - round(value / step)) < 1e-6


def _against_needle(bar: float, cylinder: Cylinder, state: State, at_s: float) -> float:
    """Where the live estimate puts the needle, or below the last reading, where there is no estimate yet."""
    accuracy_bar = state.kit.gauge_accuracy_bar
    if cylinder.estimate is not None and cylinder.estimate.known:
        mean_bar, sd_bar = cylinder.estimate.pressure_bar(at_s)
        return _around(bar, mean_bar, sqrt(sd_bar**2 + accuracy_bar**2), spread=150.0)
    if cylinder.pressure_bar is not None and bar > cylinder.pressure_bar + 2 * accuracy_bar:
        return log(W.surprise_share)
    return 0.0


def _around(value: float, mean: float, sd: float, *, spread: float) -> float:
    """Log density over that of an even spread, of a bell around `mean` and a share of surprises spread evenly."""
    bell = exp(-0.5 * ((value - mean) / sd) ** 2) / (sd * sqrt(2 * pi))
    return log((1 - W.surprise_share) * bell * spread + W.surprise_share)


def _flow(m: k.FlowRate, beside: tuple[k.Meaning, ...], state: State) -> float:
    flow, settings = m.flow.value, state.kit.flows_l_min
    found = W.no_setting if settings and flow != 0 and flow not in settings else 0.0
    found += W.trickle if 0 < flow < 1 else 0.0
    patient = state.patients.get(m.patient or state.patient)
    device = next((o.device for o in beside if isinstance(o, k.DeliveryDevice)), None)
    device = device or (patient.device if patient is not None else None)
    if device is None or flow == 0:
        return found
    low = state.kit.simple_mask_minimum_l_min
    return found + (W.outside_device if cautions(device, flow, simple_mask_minimum_l_min=low) else 0.0)


def _vital(m: k.VitalSign, beside: tuple[k.Meaning, ...], state: State) -> float:
    if isinstance(m.value, str):
        return 0.0
    if m.sign == "diastolic" and any(_at_most(other, m.value) for other in beside):
        return W.impossible
    unusual = W.hardly_alive if hardly_alive(m) else 0.0
    before = _before(m, state.patients.get(m.patient or state.patient))
    mean, sd = _USUAL[m.sign] if before is None else (before, _SD[m.sign])
    return unusual + _around(float(m.value), mean, sd, spread=_SPREAD[m.sign])


def _at_most(other: k.Meaning, diastolic: int) -> bool:
    return isinstance(other, k.VitalSign) and other.sign == "systolic" and int(other.value) <= diastolic


def _before(m: k.VitalSign, patient: Patient | None) -> float | None:
    known = patient.vitals.get(m.sign) if patient is not None else None
    return None if known is None or isinstance(known.value, str) else float(known.value)
