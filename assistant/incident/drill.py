"""A drill: an incident to be played with no gas, its faults and values drawn from a seed, told cue by cue.

Pure: `drill_of(seed, kit)` gives the plot; `cues_due` the events to append, and to speak, at a time. What was told
stands in the record, so that a drill is resumed and scored (`drill_score.py`) from its events and nothing else.
Our own scenario: a ranger on a marsh island, a smoke-inhalation patient, a boat due in seventy minutes.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

from assistant.incident.drill_truth import Truth, needle_bar
from assistant.incident.events import CylinderChanged, DrillCued, Event
from assistant.oxygen.kit import Kit
from assistant.quantity import convert

FAULTS = ("leak", "wrong_reading", "cold_cylinder", "early_handover")
START_PSI = (1400.0, 1600.0)
FLOW_L_MIN = 15.0
BOAT_DUE_MIN = 70
# A slot for each fault and a look at the needle after it; the last cue ends the drill, in seconds.
_SLOTS_S = (150.0, 300.0, 450.0, 600.0)
_LOOK_AFTER_S = 90.0
_EYES_AFTER_S = 20.0
ENDS_S = 900.0
_BEGUN = "begun"
_STEPS = {"psi": 50.0, "bar": 5.0, "MPa": 0.5, "kPa": 500.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Cue:
    """Something that happens at `at_s`. In its words `{needle}` is the gauge at that time, `{wrong}` a false one."""

    name: str
    at_s: float
    say: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill:
    """The plot: cues in order of time, and what is true behind them."""

    seed: int
    kit: Kit
    cues: tuple[Cue, ...]
    truth: Truth
    wrong_above_bar: float
    boat_min: int

    def cue(self, name: str) -> Cue:
        """The cue of that name."""
        return next(cue for cue in self.cues if cue.name == name)


def drill_of(seed: int, kit: Kit) -> Drill:
    """The drill of `seed`: which fault in which slot, how strong, and when; the same seed gives the same drill."""
    rng = random.Random(seed)
    starts_s = [slot + rng.uniform(0.0, 40.0) for slot in _SLOTS_S]
    faults = dict(zip(rng.sample(FAULTS, len(FAULTS)), starts_s, strict=True))
    truth = Truth(
        spec=kit.cylinders[0].spec,
        size=kit.cylinders[0].size,
        start_bar=_on_scale(convert(rng.uniform(*START_PSI), "psi", "bar"), kit.pressure_unit),
        second_bar=_on_scale(convert(rng.uniform(1800.0, 2000.0), "psi", "bar"), kit.pressure_unit),
        flow_l_min=FLOW_L_MIN,
        leak_from_s=faults["leak"],
        leak_l_min=rng.choice((4.0, 6.0, 8.0)),
        cold_from_s=faults["cold_cylinder"],
        cold_celsius=-float(rng.randint(8, 20)),
    )
    boat_min = rng.randint(20, 30)
    cues = (*_opening(truth), *_fault_cues(faults, truth, boat_min), *_looks(starts_s), _END)
    return Drill(
        seed=seed,
        kit=kit,
        cues=tuple(sorted(cues, key=lambda cue: cue.at_s)),
        truth=truth,
        wrong_above_bar=convert(float(rng.choice((500, 600, 700))), "psi", "bar"),
        boat_min=boat_min,
    )


def _opening(truth: Truth) -> tuple[Cue, ...]:
    return (
        Cue(name="place", at_s=0.0, say="This is a drill. Marsh island, one patient, smoke."),
        Cue(name="boat", at_s=0.0, say=f"The boat is due in {BOAT_DUE_MIN} minutes."),
        Cue(name="device", at_s=0.0, say=f"Non-rebreather mask, {FLOW_L_MIN:g} litres."),
        Cue(name="bottle", at_s=0.0, say=f"Bottle one, size {truth.size}, reads {{needle}}. A second one is ready."),
    )


def _fault_cues(faults: dict[str, float], truth: Truth, boat_min: int) -> tuple[Cue, ...]:
    wrong_s = faults["wrong_reading"]
    return (
        Cue(name="leak", at_s=faults["leak"], say="You hear a faint hiss at the yoke."),
        Cue(name="wrong_reading", at_s=wrong_s, say="Your partner calls: the gauge reads {wrong}."),
        Cue(name="own_eyes", at_s=wrong_s + _EYES_AFTER_S, say="You look yourself: the needle shows {needle}."),
        Cue(
            name="cold_cylinder",
            at_s=faults["cold_cylinder"],
            say=f"The bottle lay out in frost of minus {-truth.cold_celsius:g} degrees. The needle shows {{needle}}.",
        ),
        Cue(name="early_handover", at_s=faults["early_handover"], say=f"Radio: the boat comes in {boat_min} minutes."),
    )


def _looks(starts_s: Sequence[float]) -> tuple[Cue, ...]:
    return tuple(
        Cue(name=f"look_{number}", at_s=start_s + _LOOK_AFTER_S, say="The needle shows {needle}.")
        for number, start_s in enumerate(starts_s, start=1)
    )


_END = Cue(name="end", at_s=ENDS_S, say="The drill is over.")


def _on_scale(bar: float, unit: str) -> float:
    """The pressure as it can be read: on the nearest mark of the gauge."""
    step = _STEPS[unit]
    return convert(round(convert(bar, "bar", unit) / step) * step, unit, "bar")


# --- telling --------------------------------------------------------------------------------------------------------


def begun(drill: Drill) -> DrillCued:
    """The first event of a drill's record: says that it is none of a real incident."""
    return DrillCued(at_s=0.0, cue=_BEGUN, seed=drill.seed)


def seed_of(events: Sequence[Event]) -> int | None:
    """The seed where the record is one of a drill; None for a real incident."""
    return next((e.seed for e in events if isinstance(e, DrillCued) and e.seed is not None), None)


def told(events: Sequence[Event]) -> dict[str, float]:
    """When each cue was told, by name."""
    return {e.cue: e.at_s for e in events if isinstance(e, DrillCued) and e.cue != _BEGUN}


def cues_due(drill: Drill, events: Sequence[Event], at_s: float) -> tuple[DrillCued, ...]:
    """What happens up to `at_s` and was not told yet: events to append; their `say` is to be spoken."""
    before = told(events)
    fresh = [cue for cue in drill.cues if cue.at_s <= at_s and cue.name not in before]
    fresh += [cue for cue in _of_changes(drill, events) if cue.name not in before]
    return tuple(DrillCued(at_s=at_s, cue=cue.name, say=_said(cue, drill, events, at_s)) for cue in fresh)


def next_cue_s(drill: Drill, events: Sequence[Event]) -> float | None:
    """When the next cue is due; None once the drill is over."""
    before = told(events)
    if "end" in before:
        return None
    return min(cue.at_s for cue in drill.cues if cue.name not in before)


def over(events: Sequence[Event]) -> bool:
    """Whether the drill was told to be over."""
    return "end" in told(events)


def needle_cue(drill: Drill, events: Sequence[Event], at_s: float) -> DrillCued:
    """A look at the gauge: the trainee's own, or because a reading was asked for."""
    looks = sum(isinstance(e, DrillCued) and e.cue.startswith("needle_") for e in events)
    say = f"The needle shows {needle_said(drill, events, at_s)}."
    return DrillCued(at_s=at_s, cue=f"needle_{looks + 1}", say=say)


def needle_told(events: Sequence[Event], at_s: float) -> bool:
    """Whether a cue told the needle at this very time."""
    return any(isinstance(e, DrillCued) and e.at_s == at_s and "needle shows" in e.say for e in events)


def needle_said(drill: Drill, events: Sequence[Event], at_s: float) -> str:
    """What the gauge shows, in the kit's unit and on its marks; for a trainee who looks, or is asked for a reading."""
    return _figure(drill, needle_bar(drill.truth, events, at_s))


def _figure(drill: Drill, bar: float) -> str:
    unit = drill.kit.pressure_unit
    return f"{convert(_on_scale(bar, unit), 'bar', unit):.4g}"


def _said(cue: Cue, drill: Drill, events: Sequence[Event], at_s: float) -> str:
    needle = needle_bar(drill.truth, events, at_s)
    return cue.say.format(needle=_figure(drill, needle), wrong=_figure(drill, needle + drill.wrong_above_bar))


def _of_changes(drill: Drill, events: Sequence[Event]) -> tuple[Cue, ...]:
    """A change of cylinder shows a new needle."""
    changes = [e for e in events if isinstance(e, CylinderChanged)]
    return tuple(
        Cue(name=f"change_{number}", at_s=event.at_s, say="The new bottle's needle shows {needle}.")
        for number, event in enumerate(changes, start=1)
    )
