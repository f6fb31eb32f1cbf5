"""What an answer of the watch costs as the incident grows: milliseconds after 100, 1,000 and 10,000 events.

usage: python tests/benchmarks/watch/cost.py [--events 10000]
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from random import Random
from statistics import median
from time import perf_counter

from assistant.incident import events as ev
from assistant.incident.log import Incident
from assistant.incident.watch import due_alerts, next_due_s
from assistant.oxygen.cylinders import PSI_BAR
from assistant.oxygen.kit import default_kit

DAY_S = 24 * 3600.0
TRIES = 30


def event(random: Random, number: int, at_s: float) -> ev.Event:
    """One of the things that are said in a long day: readings, flows, changes, vital signs, notes, temperatures."""
    cylinder = str(1 + number // 60)
    kind = random.random()
    if number % 60 == 0:
        return ev.CylinderChanged(at_s=at_s, cylinder=cylinder, patient="1")
    if number % 60 == 1:
        return ev.CylinderSized(at_s=at_s, cylinder=cylinder, size="D")
    if kind < 0.25:
        psi = 50 * random.randint(5, 40)
        return ev.GaugeRead(at_s=at_s, cylinder=cylinder, value=psi, unit="psi", pressure_bar=psi * PSI_BAR)
    if kind < 0.4:
        return ev.FlowSet(at_s=at_s, patient="1", flow_l_min=random.choice((0.0, 2.0, 6.0, 15.0)))
    if kind < 0.45:
        return ev.TemperatureNoted(at_s=at_s, celsius=random.uniform(-10, 25))
    if kind < 0.8:
        return ev.VitalNoted(at_s=at_s, patient="1", sign="oxygen_saturation", value=random.randint(85, 99))
    return ev.NoteMade(at_s=at_s, text="note")


def milliseconds(doing: Callable[[], object]) -> float:
    """The median time of one call."""
    times = []
    for _ in range(TRIES):
        begun = perf_counter()
        doing()
        times.append(perf_counter() - begun)
    return 1000 * median(times)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--events", type=int, default=10_000)
    options = parser.parse_args()
    kit, random = default_kit(), Random(0)
    incident = Incident(kit)
    print(f"{'events':>8}{'take a reading, ms':>20}{'what is due, ms':>18}{'when next, ms':>16}")
    for number in range(options.events + 1):
        at_s = number * DAY_S / options.events
        incident.append([event(random, number, at_s)])
        if number in (20, 100, 1_000, 10_000, options.events):
            print(f"{number:>8}" + _row(incident, at_s))


def _row(incident: Incident, at_s: float) -> str:
    psi = Random(1)
    name = incident.state.cylinder

    def reading() -> None:
        value = psi.uniform(400, 500)
        incident.state_after(
            [ev.GaugeRead(at_s=at_s, cylinder=name, value=value, unit="psi", pressure_bar=value * PSI_BAR)]
        )

    def due(look: Callable[[Incident], object]) -> Callable[[], None]:
        def asked() -> None:
            value = psi.uniform(400, 500)
            read = ev.GaugeRead(at_s=at_s, cylinder=name, value=value, unit="psi", pressure_bar=value * PSI_BAR)
            fresh = Incident(incident.state.kit)
            fresh.state = incident.state_after([read])
            begun = perf_counter()
            look(fresh)
            spent.append(perf_counter() - begun)

        return asked

    columns = [milliseconds(reading)]
    for look in (
        lambda i: due_alerts(i.state, i.state.kit, at_s + 60),
        lambda i: next_due_s(i.state, i.state.kit, at_s),
    ):
        spent: list[float] = []
        milliseconds(due(look))
        columns.append(1000 * median(spent))
    return f"{columns[0]:>20.2f}{columns[1]:>18.2f}{columns[2]:>16.2f}"


if __name__ == "__main__":
    main()
