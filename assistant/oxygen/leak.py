"""Is there a leak? The rival hypotheses of an estimate, how they come about over time, and what they amount to.

Takes and gives weights that sum to one and L/min; pure. A leak is a constant outflow beside the regulator's, of one of
a few rates, that may begin at any time and may be mended at any time.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

# Half steps of an octave: a rate between two of them is told within a fifth, which the regulator's scale takes up.
RATES_L_MIN = (0.25, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0, 2.8, 4.0, 5.6, 8.0, 12.0, 20.0)
# No source gives how often yokes and washers leak. Our choice: one fitting in a hundred, and one more in a hundred
# hours; small enough that a first answer is not shortened by the thought, large enough to be found by two readings.
CHANCE_AT_START = 0.01
CHANCE_PER_H = 0.01
MENDED_PER_H = 0.5
# Tuned so that about one leak-free incident in a hundred is suspected (tests/benchmarks/watch/simulation.py).
SUSPECTED_AT = 0.75


@dataclass(frozen=True, slots=True, kw_only=True)
class Leak:
    """How likely a leak is (0 to 1), and its rate in L/min if there is one: expected, and its 90 % interval."""

    chance: float
    l_min: float
    low_l_min: float
    high_l_min: float

    @property
    def suspected(self) -> bool:
        """Whether it is likely enough to be spoken of."""
        return self.chance >= SUSPECTED_AT


def first_weights() -> tuple[float, ...]:
    """The weights when a cylinder is opened: no leak first, then each rate alike on the octave scale."""
    each = CHANCE_AT_START / len(RATES_L_MIN)
    return (1 - CHANCE_AT_START, *(each for _ in RATES_L_MIN))


def chance_begun(minutes: float) -> float:
    """The chance that a sound fitting begins to leak within `minutes`."""
    return 1 - exp(-CHANCE_PER_H * minutes / 60)


def chance_mended(minutes: float) -> float:
    """The chance that a leak is mended, told or not, within `minutes`."""
    return 1 - exp(-MENDED_PER_H * minutes / 60)


def _rate_at(weights: tuple[float, ...], share: float) -> float:
    """The rate below which `share` of the leaking hypotheses' weight lies."""
    total = 0.0
    for rate, weight in zip(RATES_L_MIN, weights, strict=True):
        total += weight
        if total >= share:
            return rate
    return RATES_L_MIN[-1]


def leak_of(weights: tuple[float, ...]) -> Leak:
    """What the weights of the hypotheses, no leak first, say of a leak."""
    chance = sum(weights[1:])
    if chance <= 0:
        return Leak(chance=0.0, l_min=0.0, low_l_min=0.0, high_l_min=0.0)
    leaking = tuple(weight / chance for weight in weights[1:])
    return Leak(
        chance=min(1.0, chance),
        l_min=sum(weight * rate for weight, rate in zip(leaking, RATES_L_MIN, strict=True)),
        low_l_min=_rate_at(leaking, 0.05),
        high_l_min=_rate_at(leaking, 0.95),
    )
