"""Prints how much processor time one answer and one plan take: python tests/benchmarks/calculator_speed.py"""

from __future__ import annotations

import statistics
import sys
from pathlib import Path
from time import process_time

sys.path.insert(0, str(Path(__file__).parents[2]))

from assistant.oxygen.gas import litres_per_water_litre
from assistant.oxygen.kit import default_kit
from assistant.oxygen.plan import plan_trip
from assistant.oxygen.supply import minutes_to, spoken_minutes


def answers_ms(celsius: float | None, count: int = 2000) -> list[float]:
    """Milliseconds of each of `count` answers, every one of another reading, so that no cache helps."""
    kit = default_kit()
    taken = []
    for number in range(count):
        bar = 20 + 100 * number / count
        litres_per_water_litre.cache_clear()
        begun = process_time()
        spoken_minutes(minutes_to(kit.cylinders[0].spec, bar, kit.reserve_bar, 15, celsius=celsius))
        taken.append(1000 * (process_time() - begun))
    return taken


def main() -> None:
    for name, celsius in (("no temperature", None), ("at -10 °C", -10.0)):
        taken = answers_ms(celsius)
        median, late = statistics.median(taken), statistics.quantiles(taken, n=100)[98]
        print(f"one answer, {name}: median {median:.3f} ms, 99th percentile {late:.3f} ms (limit 0.2 ms)")
    plan_trip(hours=1, patients=1, flow_l_min=10, kit=default_kit())  # numpy is loaded once
    begun = process_time()
    plan_trip(hours=10, patients=3, flow_l_min=15, kit=default_kit(), long_chance=0.1, cases=10_000)
    print(f"a plan of 10,000 cases, 3 patients, 2 sizes: {process_time() - begun:.3f} s (limit 1 s)")


if __name__ == "__main__":
    main()
