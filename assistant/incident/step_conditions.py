"""The conditions under which a step is gone through: device, flow, fitting, valve, size, and what waits for it."""

from __future__ import annotations

from collections.abc import Mapping

from assistant.incident.state import State
from assistant.meaning.kinds import DEVICES

# Words for several devices at once, as procedures need them.
DEVICE_GROUPS = {
    "mask": ("simple_mask", "partial_rebreather", "non_rebreather", "venturi_mask"),
    "reservoir": ("partial_rebreather", "non_rebreather"),
}
# Every condition with the values it can have. `flow_before` is the flow when the procedure began; `inside` says
# whether another procedure waits for it.
CONDITIONS: Mapping[str, tuple[str, ...]] = {
    "device": (*DEVICES, *DEVICE_GROUPS, "unknown"),
    "flow": ("on", "off"),
    "flow_before": ("on", "off"),
    "fitting": ("yoke", "threaded", "integrated"),
    "valve": ("key", "lever", "handwheel"),
    "size": ("known", "unknown"),
    "inside": ("yes", "no"),
}


def holds(when: Mapping[str, tuple[str, ...]], state: State) -> bool:
    """Whether every condition has one of its wanted values in `state`."""
    return all(_has(key, wanted, state) for key, wanted in when.items())


def _has(key: str, wanted: tuple[str, ...], state: State) -> bool:
    value = _value(key, state)
    if key != "device":
        return value in wanted
    return value in {device for word in wanted for device in DEVICE_GROUPS.get(word, (word,))}


def _value(key: str, state: State) -> str:
    patient, here = state.patients.get(state.patient), state.procedure
    match key:
        case "device":
            return (patient.device if patient else None) or "unknown"
        case "flow":
            return "on" if patient and patient.flow_l_min else "off"
        case "flow_before":
            return "on" if here and here.flow_before_l_min else "off"
        case "size":
            cylinder = state.supply_of(state.patient) or state.cylinders.get(state.cylinder)
            return "known" if cylinder and cylinder.size else "unknown"
        case "inside":
            return "yes" if here and here.returns else "no"
        case "fitting":
            return state.kit.fitting
        case _:
            return state.kit.valve
