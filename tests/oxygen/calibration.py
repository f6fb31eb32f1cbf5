"""Does the 90 % interval hold 90 % of true times? Draws gauge and flow errors as the documentation states them.

Used by the tests and by the checks page. The true time is worked out here, apart from the calculator.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from assistant.oxygen.cylinders import PSI_BAR, CylinderSpec
from assistant.oxygen.supply import minutes_to


@dataclass(frozen=True)
class Case:
    """A reading down to 200 psi of a cylinder of so many litres per psi, and the limits of gauge and regulator."""

    factor_l_psi: float
    psi: float
    flow_l_min: float
    gauge_psi: float
    flow_share: float

    def __str__(self) -> str:
        return (
            f"{self.factor_l_psi:g} L/psi at {self.psi:g} psi, {self.flow_l_min:g} L/min, gauge {self.gauge_psi:g} psi"
        )


def cases() -> list[Case]:
    return [
        Case(0.16, 1500, 15, 100, 0.2),
        Case(0.16, 2000, 2, 75, 0.2),
        Case(0.16, 900, 10, 100, 0.2),
        Case(0.28, 1000, 1, 100, 0.3),
        Case(0.28, 600, 6, 75, 0.2),
        Case(3.14, 700, 25, 25, 0.2),
    ]


def covered_share(
    case: Case, *, trials: int, seed: int, shape: str = "normal", believed_bar: float | None = None
) -> float:
    """Share of true times inside the interval; `believed_bar` is the accuracy the interval is told, if not the true."""
    random = np.random.default_rng(seed)
    if shape == "normal":
        gauge = random.normal(0, case.gauge_psi / sqrt(3), trials)
        flow = np.exp(random.normal(0, case.flow_share / sqrt(3), trials))
    else:
        gauge = random.uniform(-case.gauge_psi, case.gauge_psi, trials)
        flow = 1 + random.uniform(-case.flow_share, case.flow_share, trials)
    litres = np.maximum(0, case.psi + gauge - 200) * case.factor_l_psi
    true_min = litres / (case.flow_l_min * flow)
    believed = case.gauge_psi * PSI_BAR if believed_bar is None else believed_bar
    spec = CylinderSpec(size="case", factor_l_bar=case.factor_l_psi / PSI_BAR)
    interval = minutes_to(spec, case.psi * PSI_BAR, 200 * PSI_BAR, case.flow_l_min, gauge_accuracy_bar=believed)
    return float(np.mean((true_min >= interval.low) & (true_min <= interval.high)))
