"""What comes of a simulated incident: alerts as they came, true crossings of the reserve, samples of the interval."""

from __future__ import annotations

from dataclasses import dataclass, field

from truth import Scene


@dataclass(frozen=True, slots=True, kw_only=True)
class Announced:
    """An alert as it came: what was true then. `left_min`: true minutes to the reserve as things were set."""

    at_s: float
    alert: str
    priority: str
    cylinder: str
    open_min: float
    left_min: float
    fresh: bool
    flow_l_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossed:
    """A true crossing of the reserve under flow: whether an announcement was in force, and for how long.

    `plain_min`: how many minutes were then left by the plain reckoning.
    """

    at_s: float
    cylinder: str
    announced: bool
    ahead_min: float
    leaking: bool
    flow_l_min: float
    plain_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """One comparison of the minutes to the reserve with the truth: the 90 % interval, and the plain reckoning."""

    at_s: float
    low: float
    high: float
    expected: float
    true: float
    plain: float
    leaking: bool
    cold: bool


@dataclass(slots=True, kw_only=True)
class Played:
    """All that came of an incident."""

    scene: Scene
    announced: list[Announced] = field(default_factory=list)
    crossed: list[Crossed] = field(default_factory=list)
    samples: list[Sample] = field(default_factory=list)
    readings: list[tuple[float, str, float]] = field(default_factory=list)
    track: list[tuple[float, float, float, float]] = field(default_factory=list)
    leak_suspected_s: float | None = None
    asked: int = 0
    minutes: float = 0.0
    events: int = 0
