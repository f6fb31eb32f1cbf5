"""From definite meanings to the events that put them in force. Nothing here speaks or asks."""

from __future__ import annotations

from assistant.incident import events as ev
from assistant.incident.state import State
from assistant.meaning import kinds as k
from assistant.quantity import convert

# Gauge pressures are kept to a tenth of a millibar: enough to turn back into the psi that was said.
_BAR_DECIMALS = 4


def events_of(meanings: tuple[k.Meaning, ...], state: State, at_s: float) -> tuple[ev.Event, ...]:
    """The events that the values among `meanings` become at `at_s`; questions and moves become none here.

    A change of cylinder comes before readings and flows of the same breath: they are about the new one.
    """
    ordered = sorted(meanings, key=lambda m: not isinstance(m, k.Attend | k.CylinderChange))
    return tuple(event for m in ordered if (event := _event_of(m, state, at_s)) is not None)


def _event_of(m: k.Meaning, state: State, at_s: float) -> ev.Event | None:
    patient = getattr(m, "patient", None) or state.patient
    cylinder = getattr(m, "cylinder", None) or state.cylinder
    match m:
        case k.GaugeReading():
            return _gauge_read(m, cylinder, at_s)
        case k.CylinderSize():
            return ev.CylinderSized(at_s=at_s, cylinder=cylinder, size=m.size)
        case k.CylinderChange():
            return ev.CylinderChanged(at_s=at_s, cylinder=cylinder, patient=patient)
        case k.FlowRate():
            return ev.FlowSet(at_s=at_s, patient=patient, flow_l_min=m.flow.value)
        case k.DeliveryDevice():
            return ev.DeviceFitted(at_s=at_s, patient=patient, device=m.device, oxygen_percent=m.oxygen_percent)
        case k.VitalSign():
            return ev.VitalNoted(at_s=at_s, patient=patient, sign=m.sign, value=m.value)
        case k.TimeToHandover():
            return ev.HandoverExpected(at_s=at_s, handover_at_s=at_s + 60 * m.minutes)
        case k.TargetSaturation():
            return ev.TargetSet(at_s=at_s, patient=patient, low=m.low, high=m.high)
        case k.Altitude():
            return ev.AltitudeNoted(at_s=at_s, metres=m.metres)
        case k.Temperature():
            return ev.TemperatureNoted(at_s=at_s, celsius=m.celsius)
        case k.Note():
            return ev.NoteMade(at_s=at_s, text=m.text, patient=m.patient)
        case k.Attend():
            return ev.Attended(at_s=at_s, patient=m.patient, cylinder=m.cylinder)
        case k.Problem():
            return ev.ProblemReported(at_s=at_s, what=m.what)
        case _:
            return None


def _gauge_read(m: k.GaugeReading, cylinder: str, at_s: float) -> ev.GaugeRead:
    bar = round(convert(m.pressure.value, m.pressure.unit, "bar"), _BAR_DECIMALS)
    return ev.GaugeRead(at_s=at_s, cylinder=cylinder, value=m.pressure.value, unit=m.pressure.unit, pressure_bar=bar)
