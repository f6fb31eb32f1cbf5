"""Events as short to write as they are to say, and incidents begun with them, for the tests of the watch."""

from __future__ import annotations

from assistant.incident import events as ev
from assistant.incident.log import Incident
from assistant.oxygen.cylinders import PSI_BAR
from assistant.oxygen.kit import default_kit

KIT = default_kit()


def read(at_s: float, psi: float, cylinder: str = "1") -> ev.GaugeRead:
    return ev.GaugeRead(at_s=at_s, cylinder=cylinder, value=psi, unit="psi", pressure_bar=psi * PSI_BAR)


def flow(at_s: float, litres: float, patient: str = "1") -> ev.FlowSet:
    return ev.FlowSet(at_s=at_s, patient=patient, flow_l_min=litres)


def sized(at_s: float, size: str = "D", cylinder: str = "1") -> ev.CylinderSized:
    return ev.CylinderSized(at_s=at_s, cylinder=cylinder, size=size)


def saturation(at_s: float, percent: int) -> ev.VitalNoted:
    return ev.VitalNoted(at_s=at_s, patient="1", sign="oxygen_saturation", value=percent)


def incident(*events: ev.Event) -> Incident:
    return Incident(KIT, events)


def usual(psi: float = 1500, litres: float = 15) -> Incident:
    return incident(sized(0), read(0, psi), flow(0, litres))


def heard(alert: ev.AlertRaised, at_s: float) -> ev.AlertAcknowledged:
    return ev.AlertAcknowledged(at_s=at_s, alert=alert.alert, cylinder=alert.cylinder, patient=alert.patient)


def not_covered(*more: ev.Event) -> Incident:
    """Bottle one at 1,500 psi and 15 L/min, hand-over in seventy minutes."""
    return incident(sized(0), read(0, 1500), flow(0, 15), ev.HandoverExpected(at_s=0, handover_at_s=4200), *more)
