"""The question turned round: which flow lasts until hand-over, and when to change the cylinder.

Takes the cylinders at hand, minutes, a margin and the regulator's settings; gives options, never advice to give less:
a setting is offered only where the device takes it, and the present flow's shortfall is told beside it.
Refuses times and margins that cannot be, with a LastingError.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, isfinite

from assistant.oxygen.cylinders import CylinderSpec
from assistant.oxygen.devices import flow_range
from assistant.oxygen.refusal import OxygenError
from assistant.oxygen.supply import SupplyError, minutes_to

CHANGE_MIN = 2.0  # closing, bleeding, moving the regulator and opening again (our choice; practise yours)


class LastingError(OxygenError):
    """The time or the margin cannot be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A cylinder at hand: its name, its size and what its gauge reads, in bar."""

    name: str
    spec: CylinderSpec
    pressure_bar: float

    def usable_l(self, reserve_bar: float, celsius: float | None = None) -> float:
        """Litres down to the reserve: the least of the trade's rule and the real gas; 0 below the reserve."""
        if self.pressure_bar <= reserve_bar:
            return 0.0
        return self.spec.surely_l(self.pressure_bar, reserve_bar, celsius)


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowOption:
    """A setting that lasts, and the whole minutes it gives, rounded down."""

    flow_l_min: float
    minutes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LastingFlow:
    """What would last until hand-over and its margin.

    `needed_min`: minutes with the margin. `flow_l_min`: the exact flow that lasts so long. `options`: the regulator's
    settings up to it that the device takes, highest first; empty where none is. `covered_min`: whole minutes at the
    present flow, None where it is not known; `missing_l`: litres the present flow would need beyond what is there.
    """

    needed_min: float
    flow_l_min: float
    options: tuple[FlowOption, ...]
    covered_min: int | None = None
    missing_l: float | None = None


def lasting_flow(
    held: Sequence[Held],
    minutes: float,
    settings_l_min: Sequence[float],
    *,
    reserve_bar: float,
    margin: float = 0.2,
    device: str | None = None,
    valve_percent: int | None = None,
    present_l_min: float | None = None,
    celsius: float | None = None,
) -> LastingFlow:
    """The flow that lasts `minutes` and a share `margin` more, down to the reserve of every cylinder at hand.

    Raises LastingError; DeviceError for a device there is not.
    """
    if not isfinite(minutes) or minutes <= 0:
        raise LastingError("I need the minutes until hand-over, more than none.")
    if not isfinite(margin) or not 0 <= margin <= 2:
        raise LastingError("A margin is a share of the time, between none and twice it.")
    litres = sum(one.usable_l(reserve_bar, celsius) for one in held)
    needed_min = minutes * (1 + margin)
    exact = litres / needed_min
    low, high = (0.0, float("inf")) if device is None else flow_range(device, valve_percent)
    lasting = [flow for flow in sorted(settings_l_min, reverse=True) if low <= flow <= min(high, exact + 1e-9)]
    options = tuple(FlowOption(flow_l_min=flow, minutes=floor(litres / flow + 1e-9)) for flow in lasting)
    if not present_l_min:
        return LastingFlow(needed_min=needed_min, flow_l_min=exact, options=options)
    return LastingFlow(
        needed_min=needed_min,
        flow_l_min=exact,
        options=options,
        covered_min=floor(litres / present_l_min + 1e-9),
        missing_l=max(0.0, present_l_min * needed_min - litres),
    )


def change_after_min(
    held: Held,
    flow_l_min: float,
    *,
    reserve_bar: float,
    gauge_accuracy_bar: float | None = None,
    celsius: float | None = None,
    change_min: float = CHANGE_MIN,
) -> int:
    """Whole minutes from now after which to begin the change, so that it is done before the reserve is reached.

    Counted from the low end of the 90 % interval. Raises SupplyError.
    """
    if not isfinite(change_min) or change_min < 0:
        raise SupplyError("A change cannot take less than no time.")
    accuracy = {} if gauge_accuracy_bar is None else {"gauge_accuracy_bar": gauge_accuracy_bar}
    interval = minutes_to(held.spec, held.pressure_bar, reserve_bar, flow_l_min, celsius=celsius, **accuracy)
    return max(0, floor(min(interval.low, interval.real_gas) - change_min))
