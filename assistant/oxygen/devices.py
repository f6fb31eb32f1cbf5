"""Delivery devices: the flows they take, the oxygen they give as a range, and what to be careful of.

Takes a device of the contract and L/min; gives ranges and cautions as values, never a changed flow.
Refuses, with a DeviceError, a device or a venturi percentage that there is not.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.oxygen.device_tables import DEVICES, VENTURI_FLOW_L_MIN, Device, Printed
from assistant.oxygen.refusal import OxygenError

AIR_PERCENT = 21.0  # the textbooks' figure; 20.95 in dry air
USUAL_SIMPLE_MASK_MINIMUM_L_MIN = 6.0  # the strictest of 4, 5 and 6 in print


class DeviceError(OxygenError):
    """No such device, or no such valve for it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OxygenPercent:
    """The percentage of oxygen breathed: lowest and highest over the sources that cover the flow, and these."""

    low: float
    high: float
    sources: tuple[Printed, ...]

    @property
    def disagree(self) -> bool:
        """Whether two sources have nothing in common at this flow."""
        return max(row.percent[0] for row in self.sources) > min(row.percent[1] for row in self.sources)


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """Something to say, not to do: `kind` is rebreathing, reservoir or flow_out_of_range, which closes every list.

    `low_l_min` and `high_l_min` are the flows the device takes; `say` names them in words a user can hear.
    """

    kind: str
    say: str
    low_l_min: float
    high_l_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class VenturiFlow:
    """What a venturi valve makes of its oxygen: litres of air for each litre of oxygen, and the total in L/min."""

    air_per_oxygen: float
    total_l_min: float


def device_named(name: str) -> Device:
    """The device of that contract name. Raises DeviceError."""
    if name not in DEVICES:
        raise DeviceError(f"I know no device called {name.replace('_', ' ')}.")
    return DEVICES[name]


def flow_range(name: str, oxygen_percent: int | None = None) -> tuple[float, float]:
    """Lowest and highest L/min of a device; of a venturi mask, those of its valve where it is known."""
    device = device_named(name)
    if name == "venturi_mask" and oxygen_percent is not None:
        return VENTURI_FLOW_L_MIN.get(_venturi_percent(oxygen_percent), device.flow_l_min)
    return device.flow_l_min


def oxygen_percent(name: str, flow_l_min: float, valve_percent: int | None = None) -> OxygenPercent | None:
    """The oxygen breathed at a flow, as a range over the sources; None where no source covers the flow.

    A venturi mask gives what is on its valve.
    """
    device = device_named(name)
    if name == "venturi_mask" and valve_percent is not None:
        percent = float(_venturi_percent(valve_percent))
        row = Printed(flow_l_min=flow_range(name, valve_percent), percent=(percent, percent), source="the valve itself")
        return OxygenPercent(low=percent, high=percent, sources=(row,))
    rows = tuple(row for row in device.printed if row.flow_l_min[0] <= flow_l_min <= row.flow_l_min[1])
    if not rows:
        return None
    exact = tuple(row for row in rows if row.flow_l_min[0] == row.flow_l_min[1])
    narrow = exact if len(exact) > 1 else rows  # a row for this very flow says more than one for a whole band
    return OxygenPercent(
        low=min(row.percent[0] for row in narrow), high=max(row.percent[1] for row in narrow), sources=narrow
    )


def cautions(
    name: str,
    flow_l_min: float,
    *,
    valve_percent: int | None = None,
    simple_mask_minimum_l_min: float = USUAL_SIMPLE_MASK_MINIMUM_L_MIN,
) -> tuple[Caution, ...]:
    """What to be careful of at this flow, the gravest first; empty where the flow is in range. Raises DeviceError."""
    device = device_named(name)
    low, high = flow_range(name, valve_percent)
    if name == "simple_mask":
        low = simple_mask_minimum_l_min
    if flow_l_min <= 0 or low <= flow_l_min <= high:
        return ()
    found = []
    if flow_l_min < low and device.mask and not device.reservoir:
        found.append(_caution("rebreathing", device, low, high, "below that the breath out may stay in the mask"))
    elif flow_l_min < low and device.reservoir:
        found.append(_caution("reservoir", device, low, high, "below that the reservoir may collapse"))
    why = "check the valve's marking" if name == "venturi_mask" else ""
    found.append(_caution("flow_out_of_range", device, low, high, why))
    return tuple(found)


def _caution(kind: str, device: Device, low: float, high: float, why: str) -> Caution:
    say = f"A {device.spoken} takes {low:g} to {high:g} litres a minute"
    return Caution(kind=kind, say=f"{say}; {why}." if why else f"{say}.", low_l_min=low, high_l_min=high)


def _venturi_percent(percent: int) -> int:
    if not AIR_PERCENT < percent < 100:
        raise DeviceError(f"A venturi mask cannot give {percent} percent.")
    return percent


def venturi_flow(percent: int, flow_l_min: float) -> VenturiFlow:
    """Air drawn in and total flow of a venturi valve, by (100 - F) / (F - 21): Egan's, AARC (from memory).

    Raises DeviceError for a percentage that no mixing of air and oxygen gives.
    """
    ratio = (100 - _venturi_percent(percent)) / (percent - AIR_PERCENT)
    return VenturiFlow(air_per_oxygen=ratio, total_l_min=flow_l_min * (1 + ratio))
