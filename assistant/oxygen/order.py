"""Several cylinders, one or more patients: which to use first, and how long the set lasts.

Takes cylinders at hand and flows; gives a course of use in whole cylinders. Exact for the few that people carry
(up to 7 cylinders for the order, up to 100,000 ways of sharing out); beyond that fullest first.
Refuses flows and times that cannot be, with an OrderError.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, permutations, product
from math import floor, isfinite

from assistant.oxygen.lasting import Held
from assistant.oxygen.refusal import OxygenError
from assistant.oxygen.supply import HIGHEST_FLOW_L_MIN

QUIET_MIN = 10.0  # no change in the last minutes before hand-over, when hands are needed elsewhere (our choice)
_MOST_ORDERED = 7
_MOST_WAYS = 100_000


class OrderError(OxygenError):
    """The cylinders, the flow or the time cannot be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """One cylinder's turn: from and to, in minutes from now."""

    cylinder: str
    from_min: float
    to_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """The order of use. `covered`: it lasts until hand-over; `late_change`: one in the last minutes cannot be avoided.

    `lasts_min`: whole minutes of all in the course, rounded down. `spare`: cylinders left untouched.
    """

    stretches: tuple[Stretch, ...]
    lasts_min: int
    covered: bool
    late_change: bool
    spare: tuple[str, ...]


def _check_flow(flow_l_min: float) -> None:
    if not isfinite(flow_l_min) or not 0 < flow_l_min <= HIGHEST_FLOW_L_MIN:
        raise OrderError("I need a flow above zero, and one a regulator gives.")


def order_of_use(
    held: Sequence[Held],
    flow_l_min: float,
    until_min: float,
    *,
    reserve_bar: float,
    quiet_min: float = QUIET_MIN,
    celsius: float | None = None,
) -> Course:
    """The order with no change in the last `quiet_min` if there is one, then the fewest changes, then the least gas.

    Of orders as good, the one whose first change comes latest. Raises OrderError.
    """
    _check_flow(flow_l_min)
    if not isfinite(until_min) or until_min <= 0:
        raise OrderError("I need the minutes until hand-over, more than none.")
    turns = [(one.name, one.usable_l(reserve_bar, celsius) / flow_l_min) for one in held]
    full = sorted((turn for turn in turns if turn[1] > 0), key=lambda turn: -turn[1])
    ordered = _best_order(full[:_MOST_ORDERED], until_min, quiet_min)
    if ordered is None:
        ordered = tuple(full)
    return _course(ordered, [name for name, _ in turns], until_min, quiet_min)


def _best_order(
    turns: Sequence[tuple[str, float]], until_min: float, quiet_min: float
) -> tuple[tuple[str, float], ...] | None:
    """The best order that lasts until hand-over; None where none does."""
    late = None
    for count in range(1, len(turns) + 1):
        lasting = [order for order in permutations(turns, count) if sum(turn[1] for turn in order) >= until_min]
        quiet = [order for order in lasting if not _late_change(order, until_min, quiet_min)]
        if quiet:
            return min(quiet, key=_gas_then_first)
        late = late or (min(lasting, key=_gas_then_first) if lasting else None)
    return late


def _gas_then_first(order: tuple[tuple[str, float], ...]) -> tuple[float, float]:
    return round(sum(turn[1] for turn in order), 6), -order[0][1]


def _late_change(order: Sequence[tuple[str, float]], until_min: float, quiet_min: float) -> bool:
    """Whether a cylinder runs out within the last minutes before hand-over."""
    ends = list(accumulate(turn[1] for turn in order))
    return any(until_min - quiet_min < end < until_min for end in ends)


def _course(order: Sequence[tuple[str, float]], names: Sequence[str], until_min: float, quiet_min: float) -> Course:
    ends = list(accumulate(turn[1] for turn in order))
    starts = [0.0, *ends][: len(ends)]
    used = {name for name, _ in order}
    lasts = ends[-1] if ends else 0.0
    return Course(
        stretches=tuple(
            Stretch(cylinder=name, from_min=start, to_min=end)
            for (name, _), start, end in zip(order, starts, ends, strict=True)
        ),
        lasts_min=floor(lasts + 1e-9),
        covered=lasts >= until_min,
        late_change=_late_change(order, until_min, quiet_min),
        spare=tuple(name for name in names if name not in used),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Sharing:
    """How a set of cylinders is shared out among patients, and how long it lasts all of them.

    `minutes`: whole minutes until the first patient is without, with each cylinder kept to one patient.
    `moved_min`: the same if cylinders are moved between patients as they empty, which no sharing out can beat.
    """

    cylinders: tuple[tuple[str, ...], ...]
    minutes: int
    moved_min: int


def set_lasts(
    held: Sequence[Held], flows_l_min: Sequence[float], *, reserve_bar: float, celsius: float | None = None
) -> Sharing:
    """How long a set lasts for several patients, each with a flow and a regulator of their own. Raises OrderError."""
    if not flows_l_min:
        raise OrderError("I need a flow for each patient.")
    for flow in flows_l_min:
        _check_flow(flow)
    litres = [one.usable_l(reserve_bar, celsius) for one in held]
    if len(flows_l_min) ** len(held) <= _MOST_WAYS:
        ways = product(range(len(flows_l_min)), repeat=len(held))
        best = max(ways, key=lambda way: _shortest(way, litres, flows_l_min))
    else:
        best = _fullest_first(litres, flows_l_min)
    return Sharing(
        cylinders=tuple(
            tuple(one.name for one, patient in zip(held, best, strict=True) if patient == number)
            for number in range(len(flows_l_min))
        ),
        minutes=floor(_shortest(best, litres, flows_l_min) + 1e-9),
        moved_min=floor(sum(litres) / sum(flows_l_min) + 1e-9),
    )


def _shortest(way: Sequence[int], litres: Sequence[float], flows_l_min: Sequence[float]) -> float:
    """Minutes of the patient who is without first."""
    sums = [0.0] * len(flows_l_min)
    for patient, content in zip(way, litres, strict=True):
        sums[patient] += content
    return min(total / flow for total, flow in zip(sums, flows_l_min, strict=True))


def _fullest_first(litres: Sequence[float], flows_l_min: Sequence[float]) -> tuple[int, ...]:
    """Each cylinder, fullest first, to the patient who would be without soonest."""
    sums = [0.0] * len(flows_l_min)
    way = [0] * len(litres)
    for index in sorted(range(len(litres)), key=lambda place: -litres[place]):
        patient = min(range(len(flows_l_min)), key=lambda number: sums[number] / flows_l_min[number])
        sums[patient] += litres[index]
        way[index] = patient
    return tuple(way)
