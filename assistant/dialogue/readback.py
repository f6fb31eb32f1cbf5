"""The words in which each value taken is read back: short, and in a form not mistaken for its neighbour."""

from __future__ import annotations

from assistant.dialogue.numbers_said import counted, minutes_said, said, spelled
from assistant.incident.state import State
from assistant.meaning import kinds as k
from assistant.quantity import convert

DEVICE_SAID = {
    "nasal_cannula": "nasal cannula",
    "simple_mask": "simple mask",
    "partial_rebreather": "partial rebreather",
    "non_rebreather": "non-rebreather",
    "venturi_mask": "Venturi mask",
    "bag_valve_mask": "bag valve mask",
}
SIGN_SAID = {
    "oxygen_saturation": "saturation",
    "heart_rate": "heart rate",
    "respiratory_rate": "breathing rate",
    "systolic": "systolic",
    "diastolic": "diastolic",
}
UNDONE_SAID = {
    "cylinder_change": "change of bottle",
    "flow_rate": "flow",
    "delivery_device": "device",
    "time_to_handover": "hand-over time",
    "target_saturation": "target",
}
AVPU_SAID = {"A": "alert", "V": "responds to voice", "P": "responds to pain", "U": "unresponsive"}
ROUNDING = 1e-6
UNIT_SAID = {"psi": "p s i", "bar": "bar", "MPa": "megapascal", "kPa": "kilopascal"}


def sentence(text: str) -> str:
    """`text` with a capital and a full stop."""
    text = text.rstrip(",. ")
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith('?') else '.'}"


def pressure_said(value: float, unit: str, kit_unit: str) -> str:
    """A pressure; its unit is said where it is not the kit's."""
    return said(value) if unit == kit_unit else f"{said(value)} {UNIT_SAID[unit]}"


def litres_said(flow_l_min: float) -> str:
    """A flow in litres a minute, singular and plural right."""
    return f"{said(flow_l_min)} litre{'' if flow_l_min == 1 else 's'}"


def size_said(size: str, state: State) -> str:
    """A size by the kit's first word for it and by its letters: "small, delta"."""
    letters = spelled(size)
    called = state.kit.called(size)
    return letters if called in (None, letters, size.lower()) else f"{called}, {letters}"


def cylinder_said(name: str) -> str:
    """A cylinder for the ear: "bottle one"."""
    return f"bottle {said(float(name))}" if name.isdigit() else f"bottle {name}"


def patient_said(name: str) -> str:
    """A patient for the ear: "patient two"."""
    return f"patient {said(float(name))}" if name.isdigit() else f"patient {name}"


def read_back(meanings: tuple[k.Meaning, ...], state: State) -> list[str]:
    """One sentence for each value among `meanings`, in the order of speaking."""
    several = len(state.patients) > 1
    sentences: list[str] = []
    said_patient: str | None = None
    for meaning in meanings:
        text = _said(meaning, state)
        if text is None:
            continue
        patient = getattr(meaning, "patient", None)
        if several and patient is not None and patient != said_patient and not isinstance(meaning, k.Attend):
            text, said_patient = f"{patient_said(patient)}, {text}", patient
        if isinstance(meaning, k.Attend) and meaning.patient:
            said_patient = meaning.patient
        sentences.append(sentence(text))
    return sentences


def _said(m: k.Meaning, state: State) -> str | None:  # one line for each kind
    match m:
        case k.GaugeReading():
            pressure = pressure_said(m.pressure.value, m.pressure.unit, state.kit.pressure_unit)
            return f"{cylinder_said(m.cylinder or state.cylinder)}, {pressure}"
        case k.CylinderSize():
            return _size_with_cylinder(m, state)
        case k.CylinderChange():
            return f"{cylinder_said(m.cylinder or state.cylinder)} in use"
        case k.FlowRate():
            return "flow off" if m.flow.value == 0 else litres_said(m.flow.value)
        case k.DeliveryDevice():
            percent = f", {said(m.oxygen_percent)} percent" if m.oxygen_percent else ""
            return DEVICE_SAID[m.device] + percent
        case k.VitalSign():
            return vital_said(m.sign, m.value)
        case k.TimeToHandover():
            return f"hand-over in {minutes_said(m.minutes)}"
        case k.TargetSaturation():
            return f"target {said(m.low)} to {said(m.high)} percent"
        case k.Altitude():
            return f"altitude {_height_said(m.metres)}"
        case k.Temperature():
            return _degrees_said(m.celsius)
        case k.Note():
            return f"noted: {m.text}"
        case k.Attend():
            return patient_said(m.patient) if m.patient else cylinder_said(m.cylinder or state.cylinder)
        case _:
            return None


def _height_said(metres: float) -> str:
    """In the unit that it was likely said in, to be compared with what was said: the one in which it is rounder."""
    feet = convert(metres, "m", "ft")
    if _roundness(feet) > _roundness(metres):
        return f"{said(round(feet))} {'foot' if round(feet) == 1 else 'feet'}"
    return f"{said(round(metres))} metre{'' if round(metres) == 1 else 's'}"


def _degrees_said(celsius: float) -> str:
    """In Fahrenheit where only that is whole; ten degrees Celsius are fifty Fahrenheit, and either would be right."""
    fahrenheit = convert(celsius, "°C", "°F")
    other = not _roundness(celsius) and _roundness(fahrenheit)
    value = round(fahrenheit if other else celsius)
    return f"{said(value)} degree{'' if abs(value) == 1 else 's'} {'Fahrenheit' if other else 'Celsius'}"


def _roundness(value: float) -> int:
    """The largest of 50, 10, 5 and 1 that goes into the value; 0 where none does."""
    return next((step for step in (50, 10, 5, 1) if abs(value / step - round(value / step)) < ROUNDING), 0)


def _size_with_cylinder(m: k.CylinderSize, state: State) -> str:
    name = m.cylinder or state.cylinder
    prefix = f"{cylinder_said(name)}, " if name != state.cylinder else ""
    return prefix + size_said(m.size, state)


def vital_said(sign: str, value: int | str) -> str:
    """A vital sign with its value: "saturation nine four percent", "alert"."""
    if isinstance(value, str):
        return AVPU_SAID[value]
    unit = " percent" if sign == "oxygen_saturation" else ""
    return f"{SIGN_SAID[sign]} {said(value)}{unit}"


def undone_said(kinds: tuple[str, ...]) -> str:
    """What was taken back: "flow taken out"."""
    names = [UNDONE_SAID.get(kind) or SIGN_SAID.get(kind) or kind.replace("_", " ") for kind in kinds]
    return sentence(f"{' and '.join(names)} taken out")


def ago_said(seconds: float) -> str:
    """How long ago, in whole minutes."""
    minutes = int(seconds // 60)
    return "just now" if minutes == 0 else f"{counted(minutes, 'minute')} ago"
