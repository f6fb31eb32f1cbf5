"""When a content will have gone down to a mark: the distribution of the minutes until then, by rival hypotheses.

Takes litres above the mark and L/min with their covariances; gives chances and minutes, infinite where it never comes.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import erf, inf, sqrt

from assistant.oxygen.leak import chance_begun

_ROOT_2 = sqrt(2)
LONGEST_MIN = 60.0 * 24 * 14
PRECISION_MIN = 0.004
# The rates at which a leak that may yet begin is reckoned, alike in chance: coarse, as they are only a small doubt.
_YET_TO_COME_L_MIN = (0.35, 1.0, 2.8, 8.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """One hypothesis: litres above the mark, L/min out, and what one tolerance of the regulator's scale adds to it.

    `spread_l2`, `joint_l`, `scale_var`: variance of the litres, their covariance with the scale, its variance.
    `sound` marks the hypothesis that nothing leaks, from which a leak may yet begin.
    """

    weight: float
    net_l: float
    out_l_min: float
    by_scale_l_min: float
    spread_l2: float
    joint_l: float
    scale_var: float
    sound: bool

    def chance_within(self, minutes: float, leaked_l: float = 0.0, leaked_l2: float = 0.0) -> float:
        """The chance that the mark is reached within `minutes`, with `leaked_l` (variance `leaked_l2`) gone besides."""
        k = self.by_scale_l_min * minutes
        mean_l = self.net_l - self.out_l_min * minutes - leaked_l
        spread_l2 = self.spread_l2 - 2 * k * self.joint_l + k * k * self.scale_var + leaked_l2
        if spread_l2 <= 0:
            return 1.0 if mean_l <= 0 else 0.0
        return 0.5 * (1 - erf(mean_l / sqrt(spread_l2) / _ROOT_2))


def chance_within(courses: tuple[Course, ...], minutes: float) -> float:
    """The chance that the mark is reached within `minutes`, over all hypotheses and the leaks that may yet begin."""
    total = 0.0
    begun = chance_begun(minutes)
    for course in courses:
        if not course.sound:
            total += course.weight * course.chance_within(minutes)
            continue
        total += course.weight * (1 - begun) * course.chance_within(minutes)
        each = course.weight * begun / len(_YET_TO_COME_L_MIN)
        for rate in _YET_TO_COME_L_MIN:
            leaked_l = rate * minutes
            total += each * course.chance_within(minutes, leaked_l / 2, leaked_l * leaked_l / 12)
    return total


# The watch asks the same again at every turn, for every cylinder, until something is observed.
@lru_cache(maxsize=512)
def crossing_min(courses: tuple[Course, ...], chance: float) -> float:
    """The minutes within which the mark is reached with this chance; 0 where it has been, infinite beyond two weeks."""
    low, below = 0.0, chance_within(courses, 0.0) - chance
    if below >= 0:
        return 0.0
    high = 8.0
    while (above := chance_within(courses, high) - chance) < 0:
        low, below, high = high, above, 2 * high
        if high > LONGEST_MIN:
            return inf
    return _root(courses, chance, (low, below), (high, above))


def _root(courses: tuple[Course, ...], chance: float, low: tuple[float, float], high: tuple[float, float]) -> float:
    """The minutes at which the chance is met, by bracketing steps (regula falsi, Illinois rule), rounded down.

    Each end of the bracket is (minutes, chance there less the chance sought).
    """
    (left, below), (right, above) = low, high
    side = 0
    while right - left > PRECISION_MIN:
        middle = right - above * (right - left) / (above - below)
        middle = min(max(middle, left + PRECISION_MIN / 2), right - PRECISION_MIN / 2)
        here = chance_within(courses, middle) - chance
        if here < 0:
            left, below = middle, here
            above = above / 2 if side < 0 else above  # an end that stays twice is weighed less, so that it moves
            side = -1
        else:
            right, above = middle, here
            below = below / 2 if side > 0 else below
            side = 1
    return left
