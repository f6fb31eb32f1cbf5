"""The trip plan: how many cylinders of each size to carry, by playing the trip through thousands of times.

Takes hours of oxygen, patients, a flow, the chance of a long evacuation and a kit; gives a frozen TripPlan.
Refuses, with a PlanError, trips that cannot be. numpy is loaded when a plan is made, not before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from math import isfinite, sqrt
from typing import TYPE_CHECKING, Any

from assistant.oxygen.cylinders import PSI_BAR, ROOM_CELSIUS, CylinderSpec
from assistant.oxygen.gas import gauge_after
from assistant.oxygen.kit import Kit, KitCylinder
from assistant.oxygen.refusal import OxygenError
from assistant.oxygen.supply import HIGHEST_FLOW_L_MIN, flow_tolerance

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

TIME_SPREAD = 0.2  # log-sd of how long an evacuation takes against its plan (our choice; give your own)
FILL_LOW, FILL_HIGH = 0.90, 1.0  # gauge of a "full" cylinder as a share of its service pressure (our choice)
USUAL_FULL_BAR = {True: 2000 * PSI_BAR, False: 200.0}  # a full portable: about 2000 psi (Auerbach, AAOS); 200 bar (EU)
MOST_CYLINDERS = 200
_BASE_CASES, _MOST_CASES = 10_000, 200_000


class PlanError(OxygenError):
    """No such trip can be planned."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trip:
    """What was asked: hours of oxygen for each patient, how many, at which flow, and the chance of a long evacuation.

    `long_hours` is how long it then takes. `confidence`: the share of cases that the cylinders must cover.
    """

    hours: float
    patients: int
    flow_l_min: float
    long_chance: float = 0.0
    long_hours: float = 0.0
    confidence: float = 0.95
    time_spread: float = TIME_SPREAD


@dataclass(frozen=True, slots=True, kw_only=True)
class SizePlan:
    """One size: how many to carry, and what stands behind it.

    `carry`: cylinders that suffice in `confidence` of the cases. `by_rule`: what plain division gives, with no margin.
    `each_l`: litres one gives down to the reserve at the low end of filling. `each_min`: whole minutes of one at the
    flow. `covered`: (cylinders, share of cases they cover), from 1 case in 20 to 99 in 100.
    """

    size: str
    called: str
    carry: int
    by_rule: int
    each_l: float
    each_min: int
    covered: tuple[tuple[int, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TripPlan:
    """The plan: the trip, the litres it takes at the middle and at the confidence, and the cylinders by size."""

    trip: Trip
    cases: int
    seed: int
    litres_half: float
    litres_confident: float
    sizes: tuple[SizePlan, ...]

    def as_json(self) -> dict[str, Any]:
        """A plain dictionary with the units in its keys, for JSON."""
        return {"type": "plan", **asdict(self)}


def plan_trip(
    *,
    hours: float,
    patients: int,
    flow_l_min: float,
    kit: Kit,
    long_chance: float = 0.0,
    long_hours: float | None = None,
    confidence: float = 0.95,
    time_spread: float = TIME_SPREAD,
    sizes: Sequence[str] | None = None,
    celsius: float | None = None,
    cases: int = _BASE_CASES,
    seed: int = 1,
) -> TripPlan:
    """Cylinders to carry, for each size of the kit (or those in `sizes`), all of one size.

    In each case every patient needs oxygen for a log-normal time about `hours` (with `long_chance` about `long_hours`,
    the same for all: it is one weather), through a regulator of their own whose flow is off as ISO 10524 allows, from
    cylinders of their own, each filled between 0.9 and 1 of its service pressure and used down to the reserve. With no
    temperature a cylinder counts for what it surely gives, up to 50 °C. Raises PlanError.
    """
    late = 2 * hours if long_hours is None else long_hours
    trip = Trip(
        hours=hours, patients=patients, flow_l_min=flow_l_min, long_chance=long_chance,
        long_hours=late, confidence=confidence, time_spread=time_spread,
    )  # fmt: skip
    _check(trip, cases)
    return _played(trip, _chosen(kit, sizes), _Cylinders(kit=kit, celsius=celsius), cases, seed)


def _played(trip: Trip, cylinders: Sequence[KitCylinder], carried: _Cylinders, cases: int, seed: int) -> TripPlan:
    """The plan of a trip that was checked."""
    import numpy as np

    random = np.random.default_rng(seed)
    demand_l = _demand_l(trip, cases, random)
    total_l = demand_l.sum(axis=1)
    return TripPlan(
        trip=trip,
        cases=cases,
        seed=seed,
        litres_half=round(float(np.quantile(total_l, 0.5)), 1),
        litres_confident=round(float(np.quantile(total_l, trip.confidence)), 1),
        sizes=tuple(_size_plan(one, trip, carried, demand_l, random) for one in cylinders),
    )


def _check(trip: Trip, cases: int) -> None:
    numbers = (trip.hours, trip.flow_l_min, trip.long_chance, trip.long_hours, trip.confidence, trip.time_spread)
    if not all(isfinite(number) for number in numbers):
        raise PlanError("The plan needs plain numbers.")
    if not 0 < trip.hours <= 240 or (trip.long_chance > 0 and trip.long_hours > 240):
        raise PlanError("A trip plan reckons with up to 240 hours of oxygen, and with more than none.")
    if trip.long_hours < trip.hours and trip.long_chance > 0:
        raise PlanError("A long evacuation cannot be shorter than the planned one.")
    if not 1 <= trip.patients <= 20:
        raise PlanError("A trip plan reckons with 1 to 20 patients.")
    if not 0 < trip.flow_l_min <= HIGHEST_FLOW_L_MIN:
        raise PlanError("The plan needs a flow above zero, and one a regulator gives.")
    if not 0 <= trip.long_chance <= 1 or not 0.5 <= trip.confidence <= 0.999:
        raise PlanError("A chance lies between 0 and 1, and the confidence between 0.5 and 0.999.")
    if not 0 <= trip.time_spread <= 1:
        raise PlanError("The spread of the time lies between 0 and 1.")
    if not 1000 <= cases <= _MOST_CASES:
        raise PlanError("A plan plays 1,000 to 200,000 cases.")


def _chosen(kit: Kit, sizes: Sequence[str] | None) -> tuple[KitCylinder, ...]:
    if sizes is None:
        return kit.cylinders
    chosen = []
    for size in sizes:
        cylinder = kit.cylinder(size)
        if cylinder is None:
            raise PlanError(f"The kit has no cylinder called {size}.")
        chosen.append(cylinder)
    return tuple(chosen)


def _demand_l(trip: Trip, cases: int, random: np.random.Generator) -> Floats:
    """Litres each patient breathes from the cylinders: an array of cases x patients."""
    import numpy as np

    hours = np.where(random.random(cases) < trip.long_chance, trip.long_hours, trip.hours)
    minutes = hours * 60 * np.exp(random.normal(0.0, trip.time_spread, cases))
    flow_sd = flow_tolerance(trip.flow_l_min) / sqrt(3)
    flows = trip.flow_l_min * np.exp(random.normal(0.0, flow_sd, (cases, trip.patients)))
    demand: Floats = minutes[:, None] * flows
    return demand


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cylinders:
    """The kit at a temperature, for what one cylinder of it gives."""

    kit: Kit
    celsius: float | None

    def each_l(self, spec: CylinderSpec, share: float) -> float:
        """Litres to the reserve from a cylinder filled to that share of its full pressure, which holds at 70 °F.

        Colder, its gauge reads lower and it holds no more. With no temperature the gauge itself is taken to read so.
        """
        bar = share * (spec.service_bar or USUAL_FULL_BAR[self.kit.pressure_unit == "psi"])
        if self.celsius is not None:
            bar = gauge_after(bar, ROOM_CELSIUS, self.celsius)
        return spec.surely_l(bar, self.kit.reserve_bar, self.celsius) if bar > self.kit.reserve_bar else 0.0


def _size_plan(
    cylinder: KitCylinder, trip: Trip, carried: _Cylinders, demand_l: Floats, random: np.random.Generator
) -> SizePlan:
    import numpy as np

    low_l, high_l = (carried.each_l(cylinder.spec, share) for share in (FILL_LOW, FILL_HIGH))
    if low_l <= 0:
        raise PlanError(f"Size {cylinder.size} holds nothing above the reserve.")
    by_rule = trip.patients * int(np.ceil(trip.hours * 60 * trip.flow_l_min / high_l))
    if by_rule > MOST_CYLINDERS:
        raise PlanError(f"That takes {by_rule} cylinders of size {cylinder.size}: more than anyone carries.")
    counts = sum(_counts(demand_l[:, patient], low_l, high_l, random) for patient in range(trip.patients))
    carry = int(np.quantile(counts, trip.confidence, method="higher"))
    return SizePlan(
        size=cylinder.size,
        called=cylinder.called[0] if cylinder.called else cylinder.size,
        carry=carry,
        by_rule=by_rule,
        each_l=round(low_l, 1),
        each_min=int(low_l / trip.flow_l_min),
        covered=_covered(counts, carry),
    )


def _covered(counts: Any, carry: int) -> tuple[tuple[int, float], ...]:
    """Share of cases that so many cylinders cover, from 1 case in 20 to 99 in 100, in at most some 13 steps."""
    import numpy as np

    first, last = (int(np.quantile(counts, share, method="higher")) for share in (0.05, 0.99))
    step = -(-(last - first + 1) // 12)
    numbers = sorted({*range(first, last + 1, step), carry, max(last, carry)})
    return tuple((number, round(float(np.mean(counts <= number)), 4)) for number in numbers)


def _counts(demand_l: Floats, low_l: float, high_l: float, random: np.random.Generator) -> Any:
    """Cylinders one patient uses in each case, their fillings drawn one by one."""
    import numpy as np

    left, counts = demand_l.copy(), np.zeros(len(demand_l), dtype=np.int64)
    while True:
        open_cases = np.flatnonzero(left > 0)
        if len(open_cases) == 0:
            return counts
        counts[open_cases] += 1
        left[open_cases] -= random.uniform(low_l, high_l, len(open_cases))
