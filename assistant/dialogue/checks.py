"""What cannot be, and what must be checked first.

`refusal(meaning, state)` is the reason, in words to be spoken, why a value is impossible; `doubt(...)` the question to
ask before a value that is possible but unlikely is taken. Neither changes a value.
"""

from __future__ import annotations

from assistant.dialogue.numbers_said import digits, said, spelled
from assistant.incident.state import State
from assistant.meaning import kinds as k
from assistant.oxygen.devices import AIR_PERCENT
from assistant.oxygen.gas import COLDEST_CELSIUS
from assistant.quantity import convert

# A cylinder heated to 50 °C reads about 19 % over its filling pressure at 15 °C (real gas; the shared facts' table
# gives 200 bar at 15 °C as 238 bar at 50 °C). Above this ratio the number was misheard or is another cylinder's.
HOTTEST_RATIO = 1.25
# The highest filling pressure in the trade is 300 bar (ISO 10524-1:2018 scope: up to 30,000 kPa at 15 °C).
HIGHEST_BAR = 300 * HOTTEST_RATIO
# Bounds of the living and of the instruments; from memory, no source. They refuse slips, not sick patients.
VITAL_BOUNDS = {
    "oxygen_saturation": (0, 100),
    "heart_rate": (0, 300),
    "respiratory_rate": (0, 90),
    "systolic": (20, 300),
    "diastolic": (10, 200),
}
# Outside these a conscious, breathing patient is possible, but a misheard digit is likelier; from memory, no source.
USUAL_BOUNDS = {"heart_rate": (30, 220), "respiratory_rate": (4, 60), "systolic": (50, 260), "diastolic": (20, 160)}
# A day: longer is a plan, not a hand-over.
LONGEST_HANDOVER_MIN = 24 * 60
# The Dead Sea shore and the highest summit, rounded outwards.
ALTITUDE_BOUNDS_M = (-500, 9000)
# From the coldest that the gas is reckoned for to the hottest air recorded on Earth, rounded outwards.
TEMPERATURE_BOUNDS_C = (COLDEST_CELSIUS, 60)
# No regulator for a single patient delivers more; the kit's own settings are checked as a doubt.
HIGHEST_FLOW_L_MIN = 60.0
# More cylinders or patients than a rescuer has at hand; our choice.
MOST_NAMED = 99
# A saturation that falls this far between two notes is possible, but more often a misheard digit or a cold finger.
SATURATION_JUMP = 10
LOW_SATURATION = 70


def refusal(meaning: k.Meaning, state: State) -> str | None:
    """Why the value cannot be, as a short spoken sentence; None where it can."""
    if why := _name_refusal(meaning):
        return why
    match meaning:
        case k.GaugeReading():
            return _gauge_refusal(meaning, state)
        case k.FlowRate():
            return _flow_refusal(meaning.flow.value)
        case k.VitalSign():
            return _vital_refusal(meaning)
        case k.DeliveryDevice(oxygen_percent=int(percent)):
            if not AIR_PERCENT < percent < 100:
                return f"A Venturi mask cannot give {said(percent)} percent."
        case k.TimeToHandover():
            if not 0 <= meaning.minutes <= LONGEST_HANDOVER_MIN:
                return "Hand-over must be within a day from now."
        case k.TargetSaturation():
            if not 50 <= meaning.low <= meaning.high <= 100:
                return "A target runs from a lower to a higher percent, one hundred at most."
        case k.Altitude():
            if not ALTITUDE_BOUNDS_M[0] <= meaning.metres <= ALTITUDE_BOUNDS_M[1]:
                return "That altitude is not on Earth."
        case k.Temperature():
            if not TEMPERATURE_BOUNDS_C[0] <= meaning.celsius <= TEMPERATURE_BOUNDS_C[1]:
                return "I cannot reckon with a cylinder that cold or that hot."
        case k.CylinderSize():
            if not state.kit.knows(meaning.size):
                return f"Size {meaning.size} is not in the kit."
    return None


def _name_refusal(meaning: k.Meaning) -> str | None:
    """Cylinders and patients are counted from one; other numbers were typed by a slip."""
    for field, spoken in (("cylinder", "bottle"), ("patient", "patient")):
        name = getattr(meaning, field, None)
        if name is not None and not (name.isdigit() and 1 <= int(name) <= MOST_NAMED):
            return f"There is no {spoken} of that number."
    return None


def _gauge_refusal(meaning: k.GaugeReading, state: State) -> str | None:
    pressure = meaning.pressure
    if pressure.value < 0:
        return "A gauge does not read below zero."
    bar = convert(pressure.value, pressure.unit, "bar")
    cylinder = state.cylinders.get(meaning.cylinder or state.cylinder)
    if cylinder is not None and cylinder.size is not None:
        service_bar = state.kit.spec(cylinder.size).service_bar
        if service_bar is not None and bar > service_bar * HOTTEST_RATIO:
            return f"{said(pressure.value).capitalize()} {pressure.unit} is more than a {spelled(cylinder.size)} holds."
    if bar > HIGHEST_BAR:
        return f"{said(pressure.value).capitalize()} {pressure.unit} is more than any oxygen cylinder holds."
    return None


def _flow_refusal(flow_l_min: float) -> str | None:
    if flow_l_min < 0:
        return "A flow cannot be below zero."
    if flow_l_min > HIGHEST_FLOW_L_MIN:
        return f"{said(flow_l_min).capitalize()} litres a minute is more than a regulator gives."
    return None


def _vital_refusal(meaning: k.VitalSign) -> str | None:
    if isinstance(meaning.value, str):
        return None if meaning.value in "AVPU" else "Consciousness is alert, voice, pain or unresponsive."
    low, high = VITAL_BOUNDS[meaning.sign]
    if low <= meaning.value <= high:
        return None
    article = "an" if meaning.sign.startswith("o") else "a"
    return f"{digits(str(meaning.value)).capitalize()} cannot be {article} {meaning.sign.replace('_', ' ')}."


def doubt(meaning: k.Meaning, state: State, beside: tuple[k.Meaning, ...] = ()) -> str | None:
    """What to ask before the value is taken; None where it is plausible now."""
    match meaning:
        case k.GaugeReading():
            return _gauge_doubt(meaning, state, beside)
        case k.FlowRate():
            return _flow_doubt(meaning, state)
        case k.VitalSign(sign="oxygen_saturation"):
            return _saturation_doubt(meaning, state)
        case k.VitalSign() if hardly_alive(meaning):
            sign = meaning.sign.replace("_", " ").capitalize()
            return f"{sign} {digits(str(meaning.value))}: is that right, yes or no?"
    return None


def hardly_alive(meaning: k.VitalSign) -> bool:
    """Whether the value is outside what is usual in somebody who is conscious and breathes."""
    if isinstance(meaning.value, str) or meaning.sign not in USUAL_BOUNDS:
        return False
    low, high = USUAL_BOUNDS[meaning.sign]
    return not low <= meaning.value <= high


def _gauge_doubt(meaning: k.GaugeReading, state: State, beside: tuple[k.Meaning, ...]) -> str | None:
    name = meaning.cylinder or state.cylinder
    cylinder = state.cylinders.get(name)
    if cylinder is None or cylinder.pressure_bar is None:
        return None
    if any(isinstance(m, k.CylinderChange) and m.cylinder == name for m in beside):
        return None
    bar = convert(meaning.pressure.value, meaning.pressure.unit, "bar")
    # Two readings of one steady pressure may differ by the gauge's error twice over.
    if bar <= cylinder.pressure_bar + 2 * state.kit.gauge_accuracy_bar:
        return None
    return f"{said(meaning.pressure.value).capitalize()} is higher than before. Same cylinder, yes or no?"


def _flow_doubt(meaning: k.FlowRate, state: State) -> str | None:
    flow, settings = meaning.flow.value, state.kit.flows_l_min
    if flow == 0 or not settings or flow in settings:
        return None
    return f"{said(flow).capitalize()} litres is not a setting of this regulator. Is it {said(flow)}, yes or no?"


def _saturation_doubt(meaning: k.VitalSign, state: State) -> str | None:
    value = int(meaning.value)
    patient = state.patients.get(meaning.patient or state.patient)
    before = patient.vitals.get("oxygen_saturation") if patient else None
    fell = before is not None and int(before.value) - value >= SATURATION_JUMP
    low_at_once = before is None and value < LOW_SATURATION
    if not fell and not low_at_once:
        return None
    return f"Saturation {digits(str(value))} percent: is that right, yes or no?"
