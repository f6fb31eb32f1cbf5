"""The rival hypotheses of an estimate: no leak, or a leak of one of a few rates, each with its own Gaussian.

Takes minutes, litres and readings turned into litres; gives the next rivals, their mean and their courses. Immutable.
The weights follow Bayes' rule; over time a leak may begin or be mended, and what comes to the same hypothesis by two
ways is merged into one Gaussian (the generalised pseudo-Bayesian filter of first order), so the cost stays constant.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import exp

from assistant.oxygen import belief as gaussian
from assistant.oxygen.belief import Belief
from assistant.oxygen.crossing import Course
from assistant.oxygen.leak import RATES_L_MIN, Leak, chance_begun, chance_mended, first_weights, leak_of

LEAST_WEIGHT = 1e-12
_LEAKS_L_MIN = (0.0, *RATES_L_MIN)


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge:
    """A reading in litres: what it stands for, what a bar and a °C are worth there, and its noise (a variance)."""

    content_l: float
    l_per_bar: float
    l_per_celsius: float
    noise_l2: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Rivals:
    """Weights that sum to one (no leak first, then `leak.RATES_L_MIN`) and a Gaussian for each."""

    weights: tuple[float, ...]
    beliefs: tuple[Belief, ...]

    @staticmethod
    def alike(belief: Belief, weights: tuple[float, ...] | None = None) -> Rivals:
        """All hypotheses believe the same; the weights are those of a cylinder just opened, unless given."""
        weights = weights or first_weights()
        return Rivals(weights=weights, beliefs=(belief,) * len(weights))

    def mean(self) -> Belief:
        """The one Gaussian with the mean and covariance of all hypotheses."""
        return gaussian.merged(zip(self.weights, self.beliefs, strict=True))

    def leak(self) -> Leak:
        """What the weights say of a leak."""
        return leak_of(self.weights)

    def likelier(self) -> Belief:
        """The Gaussian of no leak or, where a leak is the likelier, that of all the leaks."""
        if not self.leak().suspected:
            return self.beliefs[0]
        return gaussian.merged(zip(self.weights[1:], self.beliefs[1:], strict=True))

    def after(self, minutes: float, flow_l_min: float, by_scale_l_min: float) -> Rivals:
        """After `minutes` of flow, and of leak where there is one; a leak may have begun or been mended meanwhile."""
        return _after(self, minutes, flow_l_min, by_scale_l_min)

    def weathered(self, keep: float, warmth_sd: float) -> Rivals:
        """After a while in which the warmth wandered."""
        return self._each(tuple(gaussian.weathered(belief, keep, warmth_sd) for belief in self.beliefs))

    def another_setting(self, keep: float, scale_sd: float) -> Rivals:
        """The regulator was turned to another setting."""
        return self._each(tuple(gaussian.another_setting(belief, keep, scale_sd) for belief in self.beliefs))

    def _each(self, beliefs: tuple[Belief, ...]) -> Rivals:
        return Rivals(weights=self.weights, beliefs=beliefs)

    def read(self, gauge: Gauge) -> Rivals:
        """After a reading: each Gaussian sharpened, each weight by how well it foretold the reading."""
        seen = [
            gaussian.observed(belief, gauge.content_l, gauge.l_per_bar, gauge.l_per_celsius, gauge.noise_l2)
            for belief in self.beliefs
        ]
        best = max(likelihood for _, likelihood in seen)
        raw = [
            max(LEAST_WEIGHT, weight * exp(likelihood - best))
            for weight, (_, likelihood) in zip(self.weights, seen, strict=True)
        ]
        total = sum(raw)
        return Rivals(weights=tuple(weight / total for weight in raw), beliefs=tuple(belief for belief, _ in seen))

    def surprise(self, gauge: Gauge) -> float:
        """How far a reading is from the nearest hypothesis, in squared standard deviations."""
        foretold = (gaussian.needle(belief, gauge.l_per_bar, gauge.l_per_celsius) for belief in self.beliefs)
        return min((gauge.content_l - mean_l) ** 2 / (spread_l2 + gauge.noise_l2) for mean_l, spread_l2 in foretold)

    def courses(self, mark_l: float, flow_l_min: float, by_scale_l_min: float) -> tuple[Course, ...]:
        """How each hypothesis worth a thought goes down to `mark_l`."""
        return tuple(
            Course(
                weight=weight,
                net_l=belief.content_l - mark_l,
                out_l_min=flow_l_min + rate + by_scale_l_min * belief.mean[1],
                by_scale_l_min=by_scale_l_min,
                spread_l2=belief.cov[0][0],
                joint_l=belief.cov[0][1],
                scale_var=belief.cov[1][1],
                sound=rate == 0.0,
            )
            for rate, weight, belief in zip(_LEAKS_L_MIN, self.weights, self.beliefs, strict=True)
            if weight > 1e-5
        )


@lru_cache(maxsize=8)
def _after(rivals: Rivals, minutes: float, flow_l_min: float, by_scale_l_min: float) -> Rivals:
    """Kept, because every reading of one utterance is held against the same needle."""
    flow_l, by_scale_l = flow_l_min * minutes, by_scale_l_min * minutes
    stay = [
        gaussian.drained(belief, flow_l + rate * minutes, by_scale_l)
        for rate, belief in zip(_LEAKS_L_MIN, rivals.beliefs, strict=True)
    ]
    sound, *leaking = rivals.weights
    begins, mends = chance_begun(minutes), chance_mended(minutes)
    each = sound * begins / len(leaking)
    weights = [sound * (1 - begins) + sum(leaking) * mends]
    parts = [(sound * (1 - begins), stay[0])]
    beliefs = []
    for rate, weight, before, after in zip(RATES_L_MIN, leaking, rivals.beliefs[1:], stay[1:], strict=True):
        half_l, spread_l2 = rate * minutes / 2, (rate * minutes) ** 2 / 12
        begun = gaussian.drained(rivals.beliefs[0], flow_l + half_l, by_scale_l, spread_l2)
        weights.append(weight * (1 - mends) + each)
        beliefs.append(gaussian.merged([(weight * (1 - mends), after), (each, begun)]))
        parts.append((weight * mends, gaussian.drained(before, flow_l + half_l, by_scale_l, spread_l2)))
    return Rivals(weights=tuple(weights), beliefs=(gaussian.merged(parts), *beliefs))
