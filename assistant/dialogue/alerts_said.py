"""The words of an alert: at most twelve, or two short sentences; what is, then what to look at or to choose from.

Takes a condition that is due, the state and the time; gives the event to record, with the words to speak.
"""

from __future__ import annotations

from math import isinf

from assistant.dialogue.numbers_said import minutes_said, said
from assistant.dialogue.readback import DEVICE_SAID, cylinder_said, litres_said, patient_said, sentence
from assistant.incident import events as ev
from assistant.incident.conditions import Condition, flow_cautions
from assistant.incident.coverage import Options, options
from assistant.incident.state import Cylinder, Patient, State
from assistant.incident.watch import due_alerts
from assistant.oxygen.supply import spoken_minutes


def alerts_raised(state: State, at_s: float) -> tuple[ev.AlertRaised, ...]:
    """What the watch has to announce at `at_s`, in words, the worst first."""
    return tuple(
        ev.AlertRaised(
            at_s=at_s,
            alert=due.alert,
            priority=due.priority,
            say=alert_said(due, state, at_s),
            cylinder=due.cylinder,
            patient=due.patient,
            fell_due_s=due.due_s,
        )
        for due in due_alerts(state, state.kit, at_s)
    )


def alert_said(due: Condition, state: State, at_s: float) -> str:
    """The words for `due` at `at_s`."""
    cylinder = state.cylinders.get(due.cylinder or "")
    if cylinder is not None:
        return _of_cylinder(due, cylinder, state, at_s)
    patient = state.patients[due.patient or state.patient]
    lead = f"{patient_said(patient.name)}, " if len(state.patients) > 1 else ""
    return _of_patient(due, patient, lead, state, at_s)


def _of_cylinder(due: Condition, cylinder: Cylinder, state: State, at_s: float) -> str:
    name = cylinder_said(cylinder.name)
    match due.alert:
        case "reserve_near":
            return f"{sentence(f'{name}, {_near(cylinder, state, at_s)}')} Prepare the next."
        case "reserve_reached":
            return f"{sentence(f'{name} is at reserve')} Change now."
        case "empty":
            return f"{sentence(f'{name} may be empty')} Change now."
        case "leak_suspected":
            return f"{sentence(f'{name} may leak{_leaking(cylinder, at_s)}')} Check yoke, washer, tubing."
    return f"{sentence(f'{name}, what does the gauge read?')}"


def _near(cylinder: Cylinder, state: State, at_s: float) -> str:
    """Minutes to reserve, as in every reply; the alert itself comes earlier, by the lower end of what is known."""
    if cylinder.estimate is None:
        return "near reserve"
    minutes = cylinder.estimate.minutes_to(at_s, state.kit.reserve_bar)
    if isinf(minutes.expected):
        return "may be near reserve"  # the flow is off, but a leak may have gone on
    whole = spoken_minutes(minutes)
    return f"about {minutes_said(whole)} to reserve" if whole >= 1 else "near reserve"


def _leaking(cylinder: Cylinder, at_s: float) -> str:
    """How much goes beside the flow, rounded up: a leak told too small would be left alone."""
    if cylinder.estimate is None:
        return ""
    litres = max(0.5, -(-cylinder.estimate.leak(at_s).l_min * 2 // 1) / 2)
    return f", about {litres_said(litres)} a minute"


def _of_patient(due: Condition, patient: Patient, lead: str, state: State, at_s: float) -> str:
    match due.alert:
        case "saturation_low":
            value = patient.vitals["oxygen_saturation"].value
            return f"{sentence(f'{lead}saturation {said(float(value))}, below target')} Follow your protocol."
        case "flow_out_of_range":
            found = flow_cautions(state, patient)
            return _out_of_range(lead, patient, found[0].low_l_min, found[0].high_l_min) if found else ""
    choices = options(state, patient, at_s)
    return _not_covered(lead, choices) if choices is not None else ""


def _out_of_range(lead: str, patient: Patient, low: float, high: float) -> str:
    device = DEVICE_SAID.get(patient.device or "", "device")
    return sentence(f"{lead}{device} takes {said(low)} to {said(high)} litres a minute")


def _not_covered(lead: str, found: Options) -> str:
    """What lacks and what could be done; which of it is done is the medic's and the protocol's choice."""
    choices = []
    if found.flow_l_min is not None:
        choices.append(f"{litres_said(found.flow_l_min)} would last")
    if found.next_cylinder is not None:
        choices.append(cylinder_said(found.next_cylinder))
    choices.append("earlier pick-up")
    said_choices = f"{', '.join(choices[:-1])}, or {choices[-1]}" if len(choices) > 1 else f"ask for {choices[-1]}"
    return f"{sentence(f'{lead}hand-over not covered')} {sentence(said_choices)}"
