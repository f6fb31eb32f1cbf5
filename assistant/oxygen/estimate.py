"""Where the needle is between readings: a Bayesian filter over one cylinder's content, regulator, gauge and leak.

Takes dated readings, flows and temperatures; gives litres, gauge pressure and minutes with their uncertainty.
Pure and immutable; refuses, with EstimateError, to answer before a first reading.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, inf, sqrt

from assistant.oxygen.belief import begun, needle
from assistant.oxygen.crossing import crossing_min
from assistant.oxygen.cylinders import CylinderSpec
from assistant.oxygen.leak import Leak
from assistant.oxygen.refusal import OxygenError
from assistant.oxygen.rivals import Gauge, Rivals
from assistant.oxygen.supply import USUAL_GAUGE_ACCURACY_BAR, Interval, flow_tolerance
from assistant.oxygen.warmth import Warmth

# Limits are rectangular errors, with a standard deviation of limit / √3 (GUM, JCGM 100:2008, 4.3.7). Their middle 90 %
# ends at 0.9 limits, a Gaussian's of the same deviation at 0.95: a little narrower it gives 90 % intervals that hold in
# 90 % (0.97 tuned in simulation, between 0.948 for a single error and 1 for a sum of many).
NARROWER = 0.97
SCALE_SD = NARROWER / sqrt(3)
USUAL_GAUGE_SD_BAR = USUAL_GAUGE_ACCURACY_BAR / sqrt(3)
# Of a gauge's error most is the same at the next reading; the rest (parallax, steps, friction) is new each time. The
# split is our choice: no document gives it.
GAUGE_BIAS_SHARE = 0.8
# Orifices of one regulator share a supply pressure and a maker; how alike their errors are is our choice.
SETTINGS_ALIKE = 0.6
# How long a cylinder keeps a deviation from the temperature reckoned with. Our choice.
WARMTH_KEPT_MIN = 40.0
# Squared deviations beyond which no hypothesis explains a reading: it is believed, and what was thought before is not.
UNEXPLAINED = 30.0
# Tolerances of the regulator beyond which it is not the regulator that explains the readings: five times as far as is
# likely. Readings that never fall would else make of it one that gives nothing, and of the minutes infinity.
FURTHEST_SCALE = 3.0


class EstimateError(OxygenError):
    """Nothing can be said before the gauge was read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """What is believed of one cylinder at `at_s`. Every method gives a new estimate or a value; none changes this one.

    Each of the rival hypotheses of `Rivals` is exact in its linear part (content = what it was - flow × time ×
    (1 + tolerance × scale) - leak × time) and of first order in the gas. Scale, gauge bias and a leak's rate are
    constants, so every reading sharpens them for good. `scale` is what was known of the regulator at first.
    """

    spec: CylinderSpec
    at_s: float
    warmth: Warmth
    scale: tuple[float, float] = (0.0, SCALE_SD)
    flow_l_min: float = 0.0
    set_l_min: float = 0.0
    shut_off: bool = False
    read_at_s: float | None = None
    rivals: Rivals | None = None

    @staticmethod
    def started(
        spec: CylinderSpec,
        at_s: float,
        *,
        celsius: float | None = None,
        scale: tuple[float, float] = (0.0, SCALE_SD),
    ) -> Estimate:
        """An estimate that knows only its cylinder; `scale`: mean and sd, in tolerances, of a known regulator."""
        warmth = Warmth(at_s=at_s)
        if celsius is not None:
            warmth = warmth.told(celsius, after_reading=False)
        return Estimate(spec=spec, at_s=at_s, warmth=warmth, scale=scale)

    @property
    def known(self) -> bool:
        """Whether the gauge was ever read."""
        return self.rivals is not None

    def at(self, at_s: float) -> Estimate:
        """The same cylinder later, with nothing observed since. An earlier time counts as now."""
        if at_s <= self.at_s:
            return self
        minutes = (at_s - self.at_s) / 60
        rivals = self.rivals
        if rivals is not None and not self.shut_off:
            rivals = rivals.after(minutes, self.flow_l_min, self._by_scale_l_min)
        if rivals is not None:
            rivals = rivals.weathered(exp(-minutes / WARMTH_KEPT_MIN), self.warmth.sd_celsius)
        return replace(self, at_s=at_s, warmth=self.warmth.at(at_s), rivals=rivals)

    def read(self, at_s: float, pressure_bar: float, sd_bar: float = USUAL_GAUGE_SD_BAR) -> Estimate:
        """The gauge read `pressure_bar` at `at_s`; `sd_bar` is the standard deviation of gauge and reading together."""
        now = self.at(at_s)
        sd_bar = NARROWER * sd_bar
        gauge = now._gauge(pressure_bar, sqrt(1 - GAUGE_BIAS_SHARE) * sd_bar)
        if now.rivals is None:
            return now._begun(gauge, sd_bar, None)
        after = now.rivals.read(gauge)
        if now.rivals.surprise(gauge) > UNEXPLAINED:
            # Far too low, the fastest leaks explain it best; far too high, it is another or a refilled cylinder.
            fell = gauge.content_l < now.rivals.mean().content_l
            return now._begun(gauge, sd_bar, after.weights if fell else None)
        if abs(after.likelier().mean[1]) > FURTHEST_SCALE:
            return replace(now, rivals=None)._begun(gauge, sd_bar, None)
        return replace(now, read_at_s=now.at_s, rivals=after)

    def flowing(self, at_s: float, flow_l_min: float) -> Estimate:
        """The regulator was set to `flow_l_min` at `at_s`; 0 turns it off and leaves the cylinder's valve open."""
        now = self.at(at_s)
        if flow_l_min <= 0 or flow_l_min == now.set_l_min:
            return replace(now, flow_l_min=max(0.0, flow_l_min), shut_off=False)
        rivals = now.rivals
        if now.set_l_min > 0 and rivals is not None:
            rivals = rivals.another_setting(SETTINGS_ALIKE, SCALE_SD)
        return replace(now, flow_l_min=flow_l_min, set_l_min=flow_l_min, shut_off=False, rivals=rivals)

    def shut(self, at_s: float) -> Estimate:
        """The cylinder's valve was shut at `at_s` (set aside): nothing flows or leaks until `flowing` is told again."""
        return replace(self.at(at_s), flow_l_min=0.0, shut_off=True)

    def warmed(self, at_s: float, celsius: float) -> Estimate:
        """The air was said to be at `celsius` at `at_s`; the cylinder follows it."""
        now = self.at(at_s)
        return replace(now, warmth=now.warmth.told(celsius, after_reading=self.known))

    def pressure_bar(self, at_s: float) -> tuple[float, float]:
        """Where the needle should be at `at_s`: mean and standard deviation, in bar of gauge pressure."""
        now = self.at(at_s)
        mean = now._known().mean()
        pressure = now._pressure(mean.content_l)
        gauge = now._gauge(pressure, 0.0)
        needle_l, spread_l2 = needle(mean, gauge.l_per_bar, gauge.l_per_celsius)
        return max(0.0, pressure + (needle_l - mean.content_l) / gauge.l_per_bar), sqrt(spread_l2) / gauge.l_per_bar

    def content_l(self, at_s: float) -> tuple[float, float]:
        """Litres above an empty gauge at `at_s`: mean and standard deviation."""
        mean = self.at(at_s)._known().mean()
        return max(0.0, mean.content_l), sqrt(max(0.0, mean.cov[0][0]))

    def above_l(self, to_bar: float) -> float:
        """The mean litres above `to_bar` at the time of the estimate; 0 below it."""
        return max(0.0, self._known().mean().content_l - self._litres(to_bar))

    def leak(self, at_s: float) -> Leak:
        """Whether gas goes that the flow does not explain, and how much."""
        return self.at(at_s)._known().leak()

    def minutes_to(self, at_s: float, to_bar: float) -> Interval:
        """Minutes from `at_s` until the pressure is down to `to_bar`, as things are set; infinite where nothing goes.

        Expected: litres over flow by the likelier of leak and no leak, so that the first answer is the calculator's.
        """
        now = self.at(at_s)
        expected, gone_l_min = now._expected(to_bar)
        low, high = now._within_min(to_bar, 0.05), now._within_min(to_bar, 0.95)
        real_l = now.spec.surely_l(now._pressure(now._known().mean().content_l), to_bar, now._celsius())
        real_gas = real_l / gone_l_min if gone_l_min > 0 else inf
        return Interval(expected=expected, low=min(low, expected), high=max(high, expected), real_gas=real_gas)

    def crossing_s(self, to_bar: float, chance: float) -> float:
        """When the pressure will be down to `to_bar` with this chance, on the incident's clock, if nothing is observed.

        It does not depend on when it is asked: an alert that hangs on it cannot be moved by a stall.
        """
        return self.at_s + 60 * self._within_min(to_bar, chance)

    @property
    def _by_scale_l_min(self) -> float:
        return self.flow_l_min * flow_tolerance(self.flow_l_min)

    def _known(self) -> Rivals:
        if self.rivals is None:
            raise EstimateError("The gauge has not been read yet.")
        return self.rivals

    def _scale(self) -> tuple[float, float]:
        if self.rivals is None:
            return self.scale
        mean = self.rivals.mean()
        return mean.mean[1], sqrt(max(0.0, mean.cov[1][1]))

    def _begun(self, gauge: Gauge, sd_bar: float, weights: tuple[float, ...] | None) -> Estimate:
        """The estimate begun at a reading: the first one, or one that nothing believed before explains."""
        bias_sd, noise_sd = sqrt(GAUGE_BIAS_SHARE) * sd_bar, sqrt(1 - GAUGE_BIAS_SHARE) * sd_bar
        # Where no temperature was said, what counts is the change since this reading: none yet.
        warmth_sd = 0.0 if self.warmth.celsius is None else self.warmth.sd_celsius
        belief = begun(
            gauge.content_l, gauge.l_per_bar, gauge.l_per_celsius, bias_sd, noise_sd, self._scale(), warmth_sd
        )
        return replace(self, read_at_s=self.at_s, rivals=Rivals.alike(belief, weights))

    def _celsius(self) -> float | None:
        return None if self.warmth.celsius is None else round(self.warmth.celsius, 1)

    def _litres(self, pressure_bar: float) -> float:
        if self.warmth.reference is None:
            return self.spec.content_l(pressure_bar, self._celsius())
        return self.spec.content_l(pressure_bar) * self.warmth.swelling(pressure_bar)

    def _pressure(self, content_l: float) -> float:
        """`_litres` inverted; a content below nothing is an empty gauge."""
        content_l = max(0.0, content_l)
        if self.warmth.reference is None:
            return self.spec.pressure_bar(content_l, self._celsius())
        guess = self.spec.pressure_bar(content_l)
        for _ in range(4):
            guess = self.spec.pressure_bar(content_l / self.warmth.swelling(guess))
        return guess

    def _gauge(self, pressure_bar: float, noise_bar: float) -> Gauge:
        """A gauge pressure in litres, with what a bar and a °C are worth there."""
        here_l = self._litres(pressure_bar)
        l_per_bar = self._litres(pressure_bar + 1) - here_l
        warm = self._celsius()
        warm = 15.0 if warm is None else warm
        l_per_celsius = self.spec.content_l(pressure_bar, warm + 1) - self.spec.content_l(pressure_bar, warm)
        return Gauge(
            content_l=here_l, l_per_bar=l_per_bar, l_per_celsius=l_per_celsius, noise_l2=(l_per_bar * noise_bar) ** 2
        )

    def _within_min(self, to_bar: float, chance: float) -> float:
        """Minutes from `at_s` within which the pressure is down to `to_bar` with this chance."""
        if self.shut_off:
            return inf
        mark_l = self._litres(to_bar)
        courses = self._known().courses(mark_l, self.flow_l_min, self._by_scale_l_min)
        return crossing_min(courses, chance)

    def _expected(self, to_bar: float) -> tuple[float, float]:
        """Minutes to `to_bar`, and the L/min that go, by the likelier of leak and no leak."""
        if self.shut_off:
            return inf, 0.0
        leak = self._known().leak()
        belief = self._known().likelier()
        gone_l_min = self.flow_l_min + self._by_scale_l_min * belief.mean[1] + (leak.l_min if leak.suspected else 0.0)
        net_l = belief.content_l - self._litres(to_bar)
        if net_l <= 0:
            return 0.0, gone_l_min
        return (net_l / gone_l_min if gone_l_min > 0 else inf), gone_l_min
