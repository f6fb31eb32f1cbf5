"""Minutes of oxygen, with their 90 % interval and the number that may be spoken.

Takes a cylinder, gauge bar, L/min and the tolerances of gauge and regulator; gives minutes.
Refuses flows and pressures that cannot be, with a SupplyError.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, exp, floor, inf, isfinite, log, sqrt

from assistant.oxygen.cylinders import PSI_BAR, CylinderSpec
from assistant.oxygen.refusal import OxygenError

HIGHEST_FLOW_L_MIN = 100.0
USUAL_GAUGE_ACCURACY_BAR = 100 * PSI_BAR
WIDE_SHARE = 0.6  # an interval that begins below this share of its middle is told as a range (our choice)


class SupplyError(OxygenError):
    """The flow, the reserve or the accuracy cannot be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """Minutes: what is expected, and the ends of the 90 % interval (5 % of true times lie below, 5 % above).

    `real_gas` is what the real gas gives at the least; nothing longer is ever spoken. Where the one who made the
    interval does not know it, it is infinite and `expected` rules.
    """

    expected: float
    low: float
    high: float
    real_gas: float = inf


def flow_tolerance(flow_l_min: float) -> float:
    """The share by which a fixed-orifice regulator's flow may differ from its setting.

    ISO 10524-1 and -3: 20 % above 1.5 L/min, 30 % at or below (figures from memory; the clause was not read).
    """
    return 0.30 if flow_l_min <= 1.5 else 0.20


def float_tolerance(flow_l_min: float, scale_l_min: float) -> float:
    """The same for a float flowmeter: 10 % of the reading, or 0.5 L/min if that is more.

    ISO 15002 (figures from memory). Below a tenth of its scale a float is not rated: SupplyError.
    """
    if not 0.1 * scale_l_min <= flow_l_min <= scale_l_min:
        raise SupplyError(f"That flowmeter is not rated for {flow_l_min:g} litres a minute.")
    return max(0.10, 0.5 / flow_l_min)


def gauge_limit_bar(accuracy_class: float, span_bar: float) -> float:
    """How far a gauge may be off: its class is a percentage of its span (EN 837-1:1996, table 11)."""
    if not 0 < accuracy_class <= 10 or not 0 < span_bar <= 1000:
        raise SupplyError("A gauge class is a few percent, and a gauge's span a few hundred bar.")
    return accuracy_class / 100 * span_bar


def _check(pressure_bar: float, to_bar: float, flow_l_min: float, accuracy_bar: float) -> None:
    if not isfinite(flow_l_min) or flow_l_min <= 0:
        raise SupplyError("With no flow the oxygen is not used, so there is no time to give.")
    if flow_l_min > HIGHEST_FLOW_L_MIN:
        raise SupplyError(f"{flow_l_min:g} litres a minute is more than any regulator gives.")
    if not isfinite(pressure_bar) or pressure_bar < 0:
        raise SupplyError("A gauge cannot read below zero.")
    if not isfinite(to_bar) or to_bar < 0:
        raise SupplyError("A reserve cannot be below zero.")
    if not isfinite(accuracy_bar) or accuracy_bar < 0:
        raise SupplyError("A gauge's accuracy cannot be below zero.")


def minutes_to(
    spec: CylinderSpec,
    pressure_bar: float,
    to_bar: float,
    flow_l_min: float,
    *,
    gauge_accuracy_bar: float = USUAL_GAUGE_ACCURACY_BAR,
    tolerance: float | None = None,
    celsius: float | None = None,
) -> Interval:
    """Minutes from a gauge reading down to `to_bar` (the reserve, or 0 for empty); zeros at or below it.

    The limits of gauge and regulator are taken as rectangular errors are (GUM, JCGM 100:2008, 4.3.7): a standard
    deviation of limit / √3, normal for the gauge, log-normal for the flow. What a letter or a factor may be off is not
    in it, nor a temperature that was not said. `tolerance` is `flow_tolerance` unless given.
    Raises SupplyError, GasError.
    """
    _check(pressure_bar, to_bar, flow_l_min, gauge_accuracy_bar)
    here_l = spec.content_l(pressure_bar, celsius)
    net_l = here_l - spec.content_l(to_bar, celsius)
    if net_l <= 0:
        return Interval(expected=0.0, low=0.0, high=0.0, real_gas=0.0)
    slope_l_bar = (spec.content_l(pressure_bar + 1, celsius) - here_l) / 1.0
    share = flow_tolerance(flow_l_min) if tolerance is None else tolerance
    low_l, high_l = _ninety(net_l, slope_l_bar * gauge_accuracy_bar / sqrt(3), share / sqrt(3))
    return Interval(
        expected=net_l / flow_l_min,
        low=low_l / flow_l_min,
        high=high_l / flow_l_min,
        real_gas=spec.surely_l(pressure_bar, to_bar, celsius) / flow_l_min,
    )


def pressure_needed_bar(
    spec: CylinderSpec, minutes: float, flow_l_min: float, to_bar: float, *, celsius: float | None = None
) -> float:
    """The least gauge pressure, in bar, that lasts `minutes` down to `to_bar`: `minutes_to` turned round.

    Raises SupplyError, and GasError where no cylinder holds so much.
    """
    if not isfinite(minutes) or minutes < 0:
        raise SupplyError("I need the minutes it has to last.")
    _check(0.0, to_bar, flow_l_min, 0.0)
    return spec.pressure_bar(spec.content_l(to_bar, celsius) + minutes * flow_l_min, celsius)


# Seven-point Gauss-Hermite rule for a standard normal: Abramowitz & Stegun, table 25.10 (nodes times √2, weights / √π).
_HALF_OF_NODES = (
    (1.154405394739968, 0.240123178605013),
    (2.366759410734541, 0.030757123967586),
    (3.750439717725742, 0.000548268855972),
)
_NODES = (
    (0.0, 0.457142857142857),
    *_HALF_OF_NODES,
    *((-node, weight) for node, weight in _HALF_OF_NODES),
)


def _normal(z: float) -> float:
    return 0.5 * (1 + erf(z / sqrt(2)))


def _below(litres: float, net_l: float, sd_l: float, flow_log_sd: float) -> float:
    """Chance that content over relative flow is below `litres`: the smaller error at the nodes, the larger in full."""
    total = 0.0
    gauge_in_full = sd_l > flow_log_sd * net_l
    for node, weight in _NODES:
        if gauge_in_full:
            total += weight * _normal((litres * exp(flow_log_sd * node) - net_l) / sd_l)
        else:
            there_l = max(net_l + sd_l * node, 1e-9 * net_l)
            total += weight * _normal(log(litres / there_l) / flow_log_sd)
    return total


def _ninety(net_l: float, sd_l: float, flow_log_sd: float) -> tuple[float, float]:
    """The 5 % and 95 % points of content over relative flow, none below zero."""
    if sd_l == 0 and flow_log_sd == 0:
        return net_l, net_l
    points = []
    for chance in (0.05, 0.95):
        low, high = 0.0, net_l * exp(4 * flow_log_sd) + 5 * sd_l
        for _ in range(16):
            middle = (low + high) / 2
            low, high = (middle, high) if _below(middle, net_l, sd_l, flow_log_sd) < chance else (low, middle)
        points.append(high if high > 1e-4 * net_l else 0.0)
    return points[0], points[1]


def spoken_minutes(interval: Interval) -> int:
    """The whole minutes that may be spoken: rounded down, and never longer than the real gas gives."""
    return floor(min(interval.expected, interval.real_gas) + 1e-9)


def spoken_range(interval: Interval) -> tuple[int, int] | None:
    """The whole minutes to speak as "between … and …" where the interval is wide; None where it is not.

    Wide: it begins below 0.6 of what is expected, as when the reading is near the reserve and the gauge is coarse.
    Both ends are rounded down, and the upper one is never longer than what may be spoken alone.
    """
    if interval.low >= WIDE_SHARE * interval.expected:
        return None
    upper = spoken_minutes(interval)
    return min(floor(interval.low + 1e-9), upper), upper
