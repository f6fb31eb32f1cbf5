"""Builders for what is said of the cylinder, its gauge, its flow, the device on the patient, and their troubles."""

from __future__ import annotations

from assistant.grammar import Node
from assistant.meaning.kinds import (
    DEVICES,
    BareNumber,
    CylinderChange,
    CylinderSize,
    DeliveryDevice,
    FlowRate,
    GaugeReading,
    Meaning,
    Problem,
)
from assistant.meaning.names import sizes_by_name
from assistant.meaning.registry import TwoOwnersError, builds
from assistant.meaning.tree import first, last, number, ordinal, ordinals, tag
from assistant.oxygen.kit import Kit
from assistant.quantity import Measure

CYLINDER_RULES = ("numbered_cylinder", "cylinder_number")
"""What calls a cylinder by its number."""
PRESSURE_UNITS = ("psi", "bar", "MPa", "kPa")
PRESSURE_RULES = ("pressure", "pressure_with_unit", "pressure_in_full", "pressure_in_words", "pressure_joined", "empty")
FLOW_RULES = ("flow", "flow_with_unit", "flow_off", "flow_plain")
SETTING_RULES = ("flow_subject", "flow_is", "flow_set", "given", "receiving", "has_them", "turned", "flow_off")
"""What tells that a flow is set, where one is not merely named."""
PROBLEMS = (
    "hissing",
    "no_flow",
    "regulator_loose",
    "washer_missing",
    "valve_stuck",
    "reservoir_collapses",
    "patient_unresponsive",
)


@builds("gauge_reading", "joined_reading", "named_reading", "pressure_instead")
def gauge_reading(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """The pressure as it was said; with no unit, the kit's. Raises TwoOwnersError where two cylinders are named."""
    if len(ordinals(node, *CYLINDER_RULES)) > 1:
        raise TwoOwnersError("a pressure is of one cylinder")
    said = last(node, *PRESSURE_RULES)
    unit = tag(said, PRESSURE_UNITS) or kit.pressure_unit
    pressure = _in_a_unit_of_gauges(number(node, *PRESSURE_RULES), unit)
    return (GaugeReading(pressure=pressure, cylinder=ordinal(node, *CYLINDER_RULES)),)


def _in_a_unit_of_gauges(value: float, unit: str) -> Measure:
    """The contract has psi, bar and MPa; kPa is given as MPa, which is the same digits with the point moved."""
    return Measure(value=value / 1000, unit="MPa") if unit == "kPa" else Measure(value=value, unit=unit)


@builds("cylinder_size", "bare_name", "sized_cylinder", "short_size")
def cylinder_size(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """The size that the kit's word stands for."""
    size = size_named(node, kit)
    return () if size is None else (CylinderSize(size=size, cylinder=ordinal(node, *CYLINDER_RULES)),)


def size_named(node: Node, kit: Kit) -> str | None:
    """The size that is named under the node, or None."""
    name = first(node, "cylinder_name", "size_letter", "size_written")
    return None if name is None else sizes_by_name(kit).get(" ".join(name.words()))


@builds("cylinder_change")
def cylinder_change(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """The cylinder changed to, where its number was said, and its size, where that was."""
    number_said = ordinal(node, *CYLINDER_RULES)
    size = size_named(node, kit)
    return (CylinderChange(cylinder=number_said), *(() if size is None else (CylinderSize(size=size),)))


@builds("flow_rate", "flow_of_device", "flow_instead")
def flow_rate(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """The setting in L/min; off is 0."""
    flow = Measure(value=number(node, *FLOW_RULES), unit="L/min")
    return (FlowRate(flow=flow, bare=first(node, *SETTING_RULES) is None),)


@builds("delivery_device")
def delivery_device(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """The device; of a Venturi mask the percentage too, where it was said; it must be asked what a fraction means."""
    device = tag(node, DEVICES)
    assert device is not None
    if first(node, "venturi_percent") is None:
        return (DeliveryDevice(device=device),)
    percent = number(node, "venturi_percent")
    if percent != int(percent):
        return (DeliveryDevice(device=device), BareNumber(value=percent, unit="%"))
    return (DeliveryDevice(device=device, oxygen_percent=int(percent)),)


@builds("problem", "trouble")
def problem(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """What is wrong."""
    what = tag(node, PROBLEMS)
    assert what is not None
    return (Problem(what=what),)
