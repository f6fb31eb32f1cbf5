"""How soon a leak is found: the estimate against the plain rule "the reading is more than 10 % below expectation".

usage: python tests/benchmarks/watch/leak.py [--tune] [--incidents 1000]

Both see the same simulated D cylinders (0.16 L/psi, read every five minutes to the 50 psi, constant flow), with errors
of gauge and regulator as the product states them. The plain rule expects what the set flow leaves of the first reading
(or of the last one, or of the first as long as 500 psi are expected: all are tried). Its 10 % and the estimate's
threshold are each moved to where 1 % of leak-free incidents raise a false alarm, found on tuning seeds; the figures are
from scoring seeds.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from math import inf
from random import Random
from statistics import median

from truth import Gauge, Law, Regulator, TrueCylinder

from assistant.oxygen.cylinders import PSI_BAR, CylinderSpec
from assistant.oxygen.estimate import Estimate
from assistant.oxygen.leak import SUSPECTED_AT

D = CylinderSpec(size="D", factor_l_bar=0.16 / PSI_BAR)
GAUGE_LIMIT_BAR, GAUGE_STEP_BAR = 100 * PSI_BAR, 50 * PSI_BAR
RESERVE_BAR, FULL_BAR = 200 * PSI_BAR, 2000 * PSI_BAR
FLOWS_L_MIN = (1.0, 2.0, 3.0, 4.0, 6.0)
EVERY_MIN = 5.0
MUCH_BAR = 500 * PSI_BAR
ALARMS_ALLOWED = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """One cylinder: its readings (minutes, bar) down to the reserve, and the score of each rival at each reading.

    A score is what is compared with a threshold: the chance of a leak, or the share by which a reading falls short.
    """

    flow_l_min: float
    leak_l_min: float
    readings: tuple[tuple[float, float], ...]
    estimate: tuple[float, ...]
    since_first: tuple[float, ...]
    since_last: tuple[float, ...]
    while_much: tuple[float, ...]


def readings_of(seed: int, flow_l_min: float, leak_l_min: float) -> tuple[tuple[float, float], ...]:
    """Readings every five minutes from full down to the reserve; the leak is there from the start."""
    random = Random(f"leak {seed} {flow_l_min}")
    regulator = Regulator(random=random, common=random.gauss(0, 1))
    gauge = Gauge(random=random, limit_bar=GAUGE_LIMIT_BAR, step_bar=GAUGE_STEP_BAR)
    cylinder = TrueCylinder(
        law=Law(spec=D, water_l=None),
        content_l=D.content_l(FULL_BAR),
        regulator=regulator,
        setting=flow_l_min,
        open=True,
        leak_l_min=leak_l_min,
        leak_from_s=0.0,
    )
    found = []
    minutes = 0.0
    while cylinder.bar > RESERVE_BAR and minutes <= 240:
        found.append((minutes, gauge.shows(cylinder.bar)))
        minutes += EVERY_MIN
        cylinder.at(60 * minutes)
    return tuple(found)


def played(seed: int, flow_l_min: float, leak_l_min: float) -> Course:
    """The readings of one cylinder with the scores of all rivals."""
    readings = readings_of(seed, flow_l_min, leak_l_min)
    per_min_bar = flow_l_min / D.rule_l_bar
    first_bar = readings[0][1]
    estimate = Estimate.started(D, 0.0).read(0.0, first_bar, GAUGE_LIMIT_BAR / 3**0.5).flowing(0.0, flow_l_min)
    chances, first_short, last_short, much_short = [0.0], [0.0], [0.0], [0.0]
    for (before_min, before_bar), (minutes, bar) in pairwise(readings):
        estimate = estimate.read(60 * minutes, bar, GAUGE_LIMIT_BAR / 3**0.5)
        chances.append(estimate.leak(60 * minutes).chance)
        first_short.append(_short(bar, first_bar - per_min_bar * minutes))
        much_short.append(first_short[-1] if first_bar - per_min_bar * minutes >= MUCH_BAR else 0.0)
        last_short.append(_short(bar, before_bar - per_min_bar * (minutes - before_min)))
    return Course(
        flow_l_min=flow_l_min,
        leak_l_min=leak_l_min,
        readings=readings,
        estimate=tuple(chances),
        since_first=tuple(first_short),
        since_last=tuple(last_short),
        while_much=tuple(much_short),
    )


def _short(bar: float, expected_bar: float) -> float:
    return 1 - bar / expected_bar if expected_bar > 0 else 0.0


Score = Callable[[Course], tuple[float, ...]]
RIVALS: dict[str, Score] = {
    "the estimate": lambda course: course.estimate,
    "plain rule, since the first reading": lambda course: course.since_first,
    "plain rule, since the last reading": lambda course: course.since_last,
    "plain rule, first, 500 psi or more": lambda course: course.while_much,
}


def threshold(courses: list[Course], score: Score) -> float:
    """The lowest threshold that lets 1 % of leak-free courses raise an alarm."""
    highest = sorted((max(score(course)) for course in courses), reverse=True)
    return highest[int(len(highest) * ALARMS_ALLOWED)]


def found_after(course: Course, score: Score, above: float) -> float:
    """How many readings after the first it took; infinite where the reserve came before."""
    return next((float(i) for i, value in enumerate(score(course)) if value > above), inf)


def courses_of(seeds: range, leak_l_min: float) -> list[Course]:
    """The same number of cylinders at each flow."""
    return [played(seed, flow, leak_l_min) for seed in seeds for flow in FLOWS_L_MIN]


def main() -> None:
    """Print the comparison."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--incidents", type=int, default=1000, help="leak-free incidents; as many with a leak")
    parser.add_argument("--tune", action="store_true", help="only the thresholds, on tuning seeds")
    options = parser.parse_args()
    each = max(1, options.incidents // len(FLOWS_L_MIN))
    tuning = courses_of(range(10_000, 10_000 + 2 * each), 0.0)
    above = {name: threshold(tuning, score) for name, score in RIVALS.items()}
    for name, value in above.items():
        print(f"threshold for 1 % false alarms, tuning seeds: {name}: {value:.3f}")
    print(f"threshold in use for the estimate: {SUSPECTED_AT:.3f}")
    if options.tune:
        return
    sound, leaking = courses_of(range(each), 0.0), courses_of(range(each), 1.0)
    print(
        f"\n1 L/min leak on a D cylinder, read every {EVERY_MIN:g} min; {len(sound)} sound and {len(leaking)} leaking"
    )
    print(f"{'':38}{'false alarms':>13}{'found':>8}{'median readings':>17}")
    for name, score in RIVALS.items():
        alarms = sum(found_after(course, score, above[name]) < inf for course in sound) / len(sound)
        _row(name, f"{alarms:.1%}", [found_after(course, score, above[name]) for course in leaking])
    _in_use(sound, leaking)
    plain = sum(found_after(course, RIVALS["plain rule, since the first reading"], 0.10) < inf for course in sound)
    print(f"{'plain rule at its own 10 %':38}{plain / len(sound):>13.1%}{'':>8}{'(not comparable)':>17}")
    for flow in FLOWS_L_MIN:
        print(f"\nat {flow:g} L/min")
        for name, score in RIVALS.items():
            at_flow = [c for c in leaking if c.flow_l_min == flow]
            _row(name, "", [found_after(course, score, above[name]) for course in at_flow])


def _in_use(sound: list[Course], leaking: list[Course]) -> None:
    """The estimate at the threshold that the watch uses: stricter, as cold and changes of flow are to be borne too."""
    score = RIVALS["the estimate"]
    alarms = sum(found_after(course, score, SUSPECTED_AT) < inf for course in sound) / len(sound)
    after = [found_after(course, score, SUSPECTED_AT) for course in leaking]
    _row(f"the estimate as used ({SUSPECTED_AT:g})", f"{alarms:.1%}", after)


def _row(name: str, alarms: str, after: list[float]) -> None:
    found = sum(value < inf for value in after) / len(after)
    middle = median(after)
    print(f"{name:38}{alarms:>13}{found:>8.0%}{'not found' if middle == inf else f'{middle:.0f}':>17}")


if __name__ == "__main__":
    main()
