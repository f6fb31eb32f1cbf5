"""What really happens to the oxygen in a simulated incident: drawn from a seed, with errors as the product states them.

Gauge: a bias and a fresh error, both rectangular, together of the kit's limit (variance limit² / 3), rounded to the
gauge's step. Regulator: for each setting a rectangular error within ISO 10524's tolerance, settings of one regulator
correlated by 0.6. Leak, cold, and the medic's missed readings are drawn too.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import erf, exp, inf, sqrt
from random import Random

from assistant.oxygen.cylinders import PSI_BAR, CylinderSpec
from assistant.oxygen.estimate import GAUGE_BIAS_SHARE, SETTINGS_ALIKE
from assistant.oxygen.gas import gauge_bar, litres_per_water_litre
from assistant.oxygen.kit import Kit
from assistant.oxygen.supply import flow_tolerance

US_KIT = Kit.from_toml(
    """\
pressure_unit = "psi"
reserve = "200 psi"
gauge_accuracy = "100 psi"
gauge_step = "50 psi"
[[cylinder]]
called = ["small"]
size = "D"
[[cylinder]]
called = ["large"]
size = "E"
[regulator]
flows = [0.5, 1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12, 15, 25]
""",
    source="simulation",
)
METRIC_KIT = Kit.from_toml(
    """\
pressure_unit = "bar"
reserve = "15 bar"
gauge_accuracy = "6 bar"
gauge_step = "5 bar"
[[cylinder]]
called = ["small"]
size = "2 litres"
water_capacity = "2 L"
service_pressure = "200 bar"
[[cylinder]]
called = ["large"]
size = "5 litres"
water_capacity = "5 L"
service_pressure = "200 bar"
[regulator]
flows = [0.5, 1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12, 15, 25]
""",
    source="simulation",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Law:
    """How content and pressure of a true cylinder hang together: by the real gas, or by the rule of the trade."""

    spec: CylinderSpec
    water_l: float | None

    def content_l(self, bar: float, celsius: float) -> float:
        """Litres above an empty gauge."""
        if self.water_l is None:
            return self.spec.content_l(bar)
        return self.water_l * litres_per_water_litre(bar, round(celsius, 1))

    def bar(self, content_l: float, celsius: float) -> float:
        """The true gauge pressure."""
        if self.water_l is None:
            return self.spec.pressure_bar(max(0.0, content_l))
        return gauge_bar(max(0.0, content_l) / self.water_l, round(celsius, 1))


@dataclass(slots=True, kw_only=True)
class Regulator:
    """The true error of each setting, in tolerances of the set flow."""

    random: Random
    common: float = 0.0
    own: dict[float, float] = field(default_factory=dict)

    def flow(self, setting: float) -> float:
        """What really comes out, in L/min."""
        if setting <= 0:
            return 0.0
        if setting not in self.own:
            drawn = sqrt(SETTINGS_ALIKE) * self.common + sqrt(1 - SETTINGS_ALIKE) * self.random.gauss(0, 1)
            self.own[setting] = erf(drawn / sqrt(2))
        return setting * (1 + flow_tolerance(setting) * self.own[setting])


@dataclass(slots=True, kw_only=True)
class Gauge:
    """The true error of a gauge: what it shows of a true pressure."""

    random: Random
    limit_bar: float
    step_bar: float
    bias_bar: float = 0.0

    def __post_init__(self) -> None:
        self.bias_bar = self.random.uniform(-1, 1) * self.limit_bar * sqrt(GAUGE_BIAS_SHARE)

    def shows(self, bar: float) -> float:
        """One reading, in bar."""
        fresh = self.random.uniform(-1, 1) * self.limit_bar * sqrt(1 - GAUGE_BIAS_SHARE)
        return max(0.0, round((bar + self.bias_bar + fresh) / self.step_bar) * self.step_bar)


@dataclass(slots=True, kw_only=True)
class TrueCylinder:
    """One cylinder as it is; only moves forward in time. `setting` is what the regulator is set to while it is on."""

    law: Law
    content_l: float
    regulator: Regulator
    at_s: float = 0.0
    setting: float = 0.0
    open: bool = False
    leak_l_min: float = 0.0
    leak_from_s: float = inf
    celsius: float = 15.0
    air_celsius: float = 15.0
    follows_min: float = 20.0

    def at(self, at_s: float) -> None:
        """Let time pass."""
        minutes = (at_s - self.at_s) / 60
        if minutes <= 0:
            return
        if self.open:
            leaking = max(0.0, at_s - max(self.at_s, self.leak_from_s)) / 60
            gone = self.regulator.flow(self.setting) * minutes + self.leak_l_min * leaking
            self.content_l = max(0.0, self.content_l - gone)
        self.celsius = self.air_celsius + (self.celsius - self.air_celsius) * exp(-minutes / self.follows_min)
        self.at_s = at_s

    @property
    def bar(self) -> float:
        """The true gauge pressure."""
        return self.law.bar(self.content_l, self.celsius)

    def minutes_to(self, bar: float) -> float:
        """Minutes until the true pressure is down to `bar` if nothing is changed; a leak to come is not foreseen."""
        gone = self.regulator.flow(self.setting) + (self.leak_l_min if self.leak_from_s <= self.at_s else 0.0)
        if not self.open or gone <= 0:
            return inf
        minutes = 0.0
        for _ in range(3):  # the mark moves a little as the gas cools
            celsius = self.air_celsius + (self.celsius - self.air_celsius) * exp(-minutes / self.follows_min)
            minutes = max(0.0, (self.content_l - self.law.content_l(bar, celsius)) / gone)
        return minutes


@dataclass(frozen=True, slots=True, kw_only=True)
class Cold:
    """The air gets this cold at that time; `told` if the medic says so."""

    from_s: float
    celsius: float
    told: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """One incident as drawn: kit, sizes, what is told of the temperature, and the medic's ways."""

    seed: int
    kit: Kit
    size: str
    real_water_share: float | None
    start_celsius: float
    start_told: bool
    cold: Cold | None
    leak_l_min: float
    leak_from_s: float
    answers: float
    own_reading_min: float
    change_flow_min: float
    first_setting: float
    full_share: float
    lasts_s: float = 4 * 3600.0


def scene(seed: int, family: str) -> Scene:
    """Draw an incident. `family`: "rule" (US kit, cylinders that obey the handbook factor exactly), "gas" (metric kit,
    temperature told, real gas) or "real" (US kit, no temperature told, real gas, labelled contents)."""
    random = Random(f"{family} {seed}")
    kit = METRIC_KIT if family == "gas" else US_KIT
    size = random.choice(kit.cylinders).size
    start = random.uniform(5, 30) if family == "gas" else 20.0
    cold = None
    if family != "rule" and random.random() < 0.3:
        told = random.random() < 0.7
        fall = random.uniform(10, 30) if told else random.uniform(5, 15)
        cold = Cold(from_s=random.uniform(0, 3600), celsius=start - fall, told=told)
    leaks = random.random() < 0.15
    return Scene(
        seed=seed,
        kit=kit,
        size=size,
        real_water_share={"rule": None, "gas": 1.0, "real": random.uniform(1.0, 1.12)}[family],
        start_celsius=start,
        start_told=family == "gas",
        cold=cold,
        leak_l_min=0.5 * 8 ** random.random() if leaks else 0.0,
        leak_from_s=random.uniform(0, 3600) if leaks else inf,
        answers=random.uniform(0.5, 0.95),
        own_reading_min=random.uniform(10, 60),
        change_flow_min=random.uniform(20, 120),
        first_setting=random.choice((1.0, 2.0, 2.0, 3.0, 4.0, 4.0, 6.0, 8.0, 10.0, 10.0, 15.0, 15.0)),
        full_share=random.uniform(0.5, 1.0),
    )


def true_cylinder(drawn: Scene, regulator: Regulator, random: Random, *, first: bool) -> TrueCylinder:
    """A cylinder as it comes out of the bag: not always full, as warm as the air was at first."""
    spec = drawn.kit.spec(drawn.size)
    water = None if drawn.real_water_share is None else (spec.water_capacity_l or 0.0) * drawn.real_water_share
    law = Law(spec=spec, water_l=water)
    top_bar = min(spec.service_bar or 200.0, 2200 * PSI_BAR if drawn.kit is US_KIT else 200.0)
    share = drawn.full_share if first else random.uniform(0.7, 1.0)
    return TrueCylinder(
        law=law,
        content_l=law.content_l(share * top_bar, drawn.start_celsius),
        regulator=regulator,
        leak_l_min=drawn.leak_l_min if first else 0.0,
        leak_from_s=drawn.leak_from_s,
        celsius=drawn.start_celsius,
        air_celsius=drawn.start_celsius,
        follows_min=random.uniform(11, 28),
    )
