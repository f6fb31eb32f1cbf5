"""From what was said to what it is about: cylinder and patient filled in, bare numbers and corrections resolved.

Takes meanings and the state; gives definite meanings with the events they withdraw, or says what is unclear. Never
guesses: a number that fits no question, and a correction of nothing, come out as `Unclear`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from assistant.incident.state import State, TakenValue
from assistant.meaning import kinds as k
from assistant.quantity import Measure


@dataclass(frozen=True, slots=True, kw_only=True)
class Definite:
    """Meanings with every cylinder and patient named; `withdraws` are numbers of events that they replace.

    `since_s`: where a value replaces one, the time at which the replaced one was taken.
    """

    meanings: tuple[k.Meaning, ...]
    withdraws: tuple[int, ...] = ()
    since_s: float | None = None
    undone: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Unclear:
    """What has to be asked before anything is taken: `about` a kind, `choices` to pick from, `rest` waiting with it."""

    about: str
    why: str
    choices: tuple[k.Meaning, ...] = ()
    rest: tuple[k.Meaning, ...] = ()
    best: tuple[k.Meaning, ...] = ()


# The event that each kind of value becomes, for finding what a correction corrects.
EVENT_OF_KIND: Mapping[str, str] = {
    "gauge_reading": "gauge_read",
    "cylinder_size": "cylinder_sized",
    "cylinder_change": "cylinder_changed",
    "flow_rate": "flow_set",
    "delivery_device": "device_fitted",
    "vital_sign": "vital_noted",
    "time_to_handover": "handover_expected",
    "target_saturation": "target_set",
    "altitude": "altitude_noted",
    "temperature": "temperature_noted",
    "note": "note_made",
}
KIND_OF_EVENT: Mapping[str, str] = {event: kind for kind, event in EVENT_OF_KIND.items()}


def _as_gauge(number: k.BareNumber, state: State) -> k.Meaning | None:
    unit = number.unit or state.kit.pressure_unit
    if unit not in ("psi", "bar", "MPa", "kPa"):
        return None
    return k.GaugeReading(pressure=Measure(value=number.value, unit=unit))


def _as_flow(number: k.BareNumber, state: State) -> k.Meaning | None:
    if number.unit not in (None, "L/min", "L"):
        return None
    return k.FlowRate(flow=Measure(value=number.value, unit="L/min"))


def _as_saturation(number: k.BareNumber, state: State) -> k.Meaning | None:
    return _as_vital("oxygen_saturation", number, ("%",))


def _as_vital(sign: str, number: k.BareNumber, units: tuple[str, ...]) -> k.Meaning | None:
    if number.unit not in (None, *units) or number.value != int(number.value):
        return None
    return k.VitalSign(sign=sign, value=int(number.value))


def _as_handover(number: k.BareNumber, state: State) -> k.Meaning | None:
    factor = {None: 1.0, "min": 1.0, "h": 60.0}.get(number.unit)
    return k.TimeToHandover(minutes=number.value * factor) if factor else None


def _as_altitude(number: k.BareNumber, state: State) -> k.Meaning | None:
    factor = {None: 1.0, "m": 1.0, "ft": 0.3048}.get(number.unit)
    return k.Altitude(metres=number.value * factor) if factor else None


def _as_temperature(number: k.BareNumber, state: State) -> k.Meaning | None:
    return k.Temperature(celsius=number.value) if number.unit in (None, "°C") else None


NUMBER_AS: Mapping[str, Callable[[k.BareNumber, State], k.Meaning | None]] = {
    "gauge_reading": _as_gauge,
    "flow_rate": _as_flow,
    "vital_sign": _as_saturation,
    "oxygen_saturation": _as_saturation,
    "time_to_handover": _as_handover,
    "altitude": _as_altitude,
    "temperature": _as_temperature,
}


def number_as(kind: str, number: k.BareNumber, state: State) -> k.Meaning | None:
    """The meaning of a bare number as an answer about `kind`; None where it cannot be one."""
    if kind in ("heart_rate", "respiratory_rate", "systolic", "diastolic"):
        return _as_vital(kind, number, ("/min",))
    maker = NUMBER_AS.get(kind)
    return maker(number, state) if maker else None


def definite(meanings: tuple[k.Meaning, ...], state: State, asks: str | None = None) -> Definite | Unclear:
    """`meanings` made definite against `state`; `asks` is what the procedure's step waits for, if anything."""
    corrections = [m for m in meanings if isinstance(m, k.Correction)]
    if not corrections and _asked_what_is_wrong(meanings, state):
        corrections = [k.Correction()]
    values = tuple(m for m in meanings if not isinstance(m, k.Correction))
    if corrections:
        return _corrected(corrections[0], values, state)
    return _named(values, state, asks)


def _asked_what_is_wrong(meanings: tuple[k.Meaning, ...], state: State) -> bool:
    """After "Which value is wrong?" a value said is the right one in place of the last of its kind."""
    wrong = state.question is not None and state.question.about == "correction"
    return wrong and any(m.kind in EVENT_OF_KIND or isinstance(m, k.BareNumber) for m in meanings)


def _named(meanings: tuple[k.Meaning, ...], state: State, asks: str | None) -> Definite | Unclear:
    """Fill in who and which, in the order of speaking: "patient two, ten litres" is about patient two."""
    patient, cylinder = state.patient, _changed_to(meanings, state)
    done: list[k.Meaning] = []
    for meaning in meanings:
        if isinstance(meaning, k.BareNumber):
            sense = _number_in_context(meaning, state, asks, done)
            if sense is None:
                rest = tuple(m for m in meanings if m is not meaning)
                return Unclear(
                    about="number", why="what", choices=_candidates(meaning, state), rest=rest, best=(meaning,)
                )
            meaning = sense
        patient, cylinder = _attention(meaning, state, patient, cylinder)
        done.append(_filled(meaning, state, patient, cylinder))
    return Definite(meanings=tuple(done))


def _changed_to(meanings: tuple[k.Meaning, ...], state: State) -> str | None:
    """A change of cylinder is what the gauge and the size of the same breath are about, whichever was said first."""
    change = next((m for m in meanings if isinstance(m, k.CylinderChange)), None)
    return None if change is None else change.cylinder or next_cylinder(state)


def _attention(meaning: k.Meaning, state: State, patient: str, cylinder: str | None) -> tuple[str, str | None]:
    if isinstance(meaning, k.Attend):
        return meaning.patient or patient, meaning.cylinder or cylinder
    named_patient = getattr(meaning, "patient", None)
    named_cylinder = getattr(meaning, "cylinder", None)
    if isinstance(meaning, k.CylinderChange):
        named_cylinder = named_cylinder or next_cylinder(state)
    return named_patient or patient, named_cylinder or cylinder


def _filled(meaning: k.Meaning, state: State, patient: str, cylinder: str | None) -> k.Meaning:
    supply = state.supply_of(patient)
    here = cylinder or (supply.name if supply and patient != state.patient else state.cylinder)
    match meaning:
        case k.GaugeReading() | k.CylinderSize():
            return replace(meaning, cylinder=meaning.cylinder or here)
        case k.CylinderChange():
            named = meaning.cylinder or cylinder or next_cylinder(state)
            return replace(meaning, cylinder=named, patient=meaning.patient or patient)
        case k.FlowRate() | k.DeliveryDevice() | k.VitalSign() | k.TargetSaturation() | k.Note():
            return replace(meaning, patient=meaning.patient or patient)
        case k.Question():
            return replace(meaning, patient=meaning.patient or patient, cylinder=meaning.cylinder)
        case _:
            return meaning


def next_cylinder(state: State) -> str:
    """The cylinder that comes next: the first not used and not in use, else a new number."""
    for name, cylinder in state.cylinders.items():
        if not cylinder.used and cylinder.patient is None and name != state.cylinder:
            return name
    numbers = [int(name) for name in state.cylinders if name.isdigit()]
    return str(max(numbers, default=0) + 1)


def _number_in_context(
    number: k.BareNumber, state: State, asks: str | None, before: list[k.Meaning]
) -> k.Meaning | None:
    """A pending question, the step in hand, or a size and a flow said beside it give a bare number its sense."""
    if state.question is not None and not before:
        sense = number_as(state.question.about, number, state)
        if sense is not None:
            about_cylinder = isinstance(sense, k.GaugeReading | k.CylinderSize)
            return _about_subject(sense, state.question.subject if about_cylinder else None)
    return number_as(asks, number, state) if asks else None


def _about_subject(meaning: k.Meaning, subject: str | None) -> k.Meaning:
    if subject is None:
        return meaning
    if isinstance(meaning, k.GaugeReading | k.CylinderSize):
        return replace(meaning, cylinder=meaning.cylinder or subject)
    if isinstance(meaning, k.FlowRate | k.VitalSign | k.DeliveryDevice):
        return replace(meaning, patient=meaning.patient or subject)
    return meaning


def _candidates(number: k.BareNumber, state: State) -> tuple[k.Meaning, ...]:
    """What a bare number could be, by its unit or its size alone; to ask with, never to take."""
    found: list[k.Meaning] = []
    gauge = _as_gauge(number, state)
    psi = state.kit.pressure_unit == "psi"
    if gauge is not None and number.value >= (150 if psi else 20):
        found.append(gauge)
    flow = _as_flow(number, state)
    if flow is not None and number.value in state.kit.flows_l_min:
        found.append(flow)
    saturation = _as_saturation(number, state)
    if saturation is not None and 60 <= number.value <= 100:
        found.append(saturation)
    return tuple(found[:2])


def _corrected(correction: k.Correction, values: tuple[k.Meaning, ...], state: State) -> Definite | Unclear:
    taken = state.taken[: len(state.taken) - correction.back] if correction.back else state.taken
    if not taken:
        return Unclear(about="correction", why="nothing")
    if not values:
        last = taken[-1]
        return Definite(meanings=(), withdraws=last.numbers, undone=(last.sign or KIND_OF_EVENT[last.kind],))
    if isinstance(values[0], k.BareNumber):
        return _corrected_number(values[0], values[1:], taken, state)
    named = _named(values, state, None)
    if isinstance(named, Unclear):
        return named
    return _replacing(named.meanings, taken, state)


def _corrected_number(
    number: k.BareNumber, rest: tuple[k.Meaning, ...], taken: tuple[TakenValue, ...], state: State
) -> Definite | Unclear:
    """ "No, sixteen hundred": which of the values of the last turn it corrects; asks where two would fit."""
    last_turn = [t for t in taken if t.turn_at_s == taken[-1].turn_at_s]
    fitting = [(t, s) for t in reversed(last_turn) if (s := _fits(number, t, state)) is not None]
    if not fitting:
        return Unclear(about="correction", why="which", best=(number,), rest=rest)
    if len({t.kind for t, _ in fitting}) > 1:
        choices = tuple(s for _, s in fitting)[:2]
        return Unclear(about="correction", why="which", choices=choices, rest=rest, best=(number,))
    named = _named((fitting[0][1], *rest), state, None)
    return named if isinstance(named, Unclear) else _replacing(named.meanings, taken, state)


def corrected_by(number: k.BareNumber, state: State) -> k.Meaning | None:
    """What "correction, sixteen hundred" makes of the value taken last; None where a question was asked after it, or
    where the number cannot be such a value."""
    last = state.taken[-1] if state.taken else None
    if last is None or (state.question is not None and state.question.at_s > last.turn_at_s):
        return None
    return _fits(number, last, state)


def _fits(number: k.BareNumber, value: TakenValue, state: State) -> k.Meaning | None:
    kind = KIND_OF_EVENT[value.kind]
    meaning = number_as(value.sign or kind, number, state)
    if meaning is None:
        return None
    in_range = {
        "gauge_reading": number.unit is not None or number.value >= 100 or state.kit.pressure_unit != "psi",
        "flow_rate": number.value <= 60,
        "vital_sign": number.value <= 300,
    }
    return _about_subject(meaning, value.subject) if in_range.get(kind, True) else None


def _replacing(meanings: tuple[k.Meaning, ...], taken: tuple[TakenValue, ...], state: State) -> Definite | Unclear:
    """The newest value of each meaning's kind is withdrawn; the new value holds from the old one's time."""
    gone: list[int] = []
    since: float | None = None
    for meaning in meanings:
        event = EVENT_OF_KIND.get(meaning.kind)
        sign = getattr(meaning, "sign", None)
        old = next((t for t in reversed(taken) if t.kind == event and t.sign in (None, sign)), None)
        if old is not None:
            gone.extend(old.numbers)
            since = old.turn_at_s if since is None else min(since, old.turn_at_s)
    return Definite(meanings=meanings, withdraws=tuple(gone), since_s=since)
