"""Walking through a procedure: from one step to the next that applies, with the events and the words on the way.

Pure: a walk is a frozen value; every step of it gives a longer one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from assistant.incident.events import CylinderChanged, Event, FlowSet, NoteMade, ProblemReported, ProcedureMoved
from assistant.incident.fold import after
from assistant.incident.procedure_steps import END, Judgement, Procedure, ProcedureStep
from assistant.incident.state import Cylinder, Place, State
from assistant.incident.step_conditions import holds
from assistant.quantity import convert

Procedures = Mapping[str, Procedure]


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    """Where a turn has led so far: the state with its events, and what to say.

    `given` are the kinds of meaning said in this breath.
    """

    procedures: Procedures
    state: State
    at_s: float
    events: tuple[Event, ...] = ()
    say: tuple[str, ...] = ()
    given: frozenset[str] = frozenset()
    refused: bool = False

    @property
    def place(self) -> Place | None:
        """The place in hand."""
        return self.state.procedure

    @property
    def step(self) -> ProcedureStep | None:
        """The step in hand; None where no procedure is, or where the files no longer know it."""
        return step_in_hand(self.procedures, self.state)

    def with_event(self, event: Event) -> Walk:
        """The walk with `event` in force."""
        return replace(self, events=(*self.events, event), state=after(self.state, 0, event))

    def saying(self, *words: str) -> Walk:
        """The walk with more to say."""
        return replace(self, say=(*self.say, *(w for w in words if w)))


def step_in_hand(procedures: Procedures, state: State) -> ProcedureStep | None:
    """The step at the state's place; None where there is none."""
    place = state.procedure
    procedure = procedures.get(place.procedure) if place else None
    return procedure.steps.get(place.step) if place and procedure else None


def standing(procedure: Procedure, name: str, state: State) -> str:
    """The first step from `name` on whose conditions hold; `END` where none is left."""
    while name != END and not holds(procedure.steps[name].when, state):
        name = procedure.steps[name].following
    return name


def applying(procedure: Procedure, name: str, state: State) -> str:
    """The first step from `name` on whose conditions hold; `name` itself where none does."""
    step = standing(procedure, name, state)
    return name if step == END else step


def started(walk: Walk, procedure: Procedure, at_step: str | None = None, opening: str = "") -> Walk:
    """The walk at the first step of `procedure`, from `at_step` on, that applies."""
    # Conditions that look at the procedure's beginning are judged as if it had begun.
    begun = walk.with_event(_moved(walk, procedure.name, "started", procedure.first)).state
    first = applying(procedure, at_step or procedure.first, begun)
    walk = walk.saying(opening)
    return arrived(walk.with_event(_moved(walk, procedure.name, "started", first)))


def arrived(walk: Walk) -> Walk:
    """The prompt of the step in hand, unless what it asks for was given already: then it is judged and passed."""
    place, step = walk.place, walk.step
    if place is None or step is None:
        return walk
    if step.asks not in (None, "answer") and not step.many and is_given(step, place, walk):
        return judged(walk, step)
    return walk.saying(*step.prompts)


def left(walk: Walk, step: ProcedureStep, move: str, *, reason: str = "", target: str | None = None) -> Walk:
    """The walk beyond `step`: what it does is put in force, and the next step that applies is reached."""
    place = walk.place
    if place is None:
        return walk
    if move != "skipped" or reason == "already done":
        walk = _effects(walk, step)
        walk = walk.saying(_gap_said(step, place, walk.at_s))
    procedure = walk.procedures[place.procedure]
    following = standing(procedure, target or step.next, walk.state)
    if following == END:
        return ended(walk, procedure, move="finished", say=procedure.ended, reason=reason)
    return arrived(walk.with_event(_moved(walk, procedure.name, move, following, reason)))


def ended(walk: Walk, procedure: Procedure, *, move: str, say: str, reason: str = "") -> Walk:
    """The walk with `procedure` over; what waited for it is taken up again, early enough to be safe."""
    walk = walk.with_event(_moved(walk, procedure.name, move, None, reason)).saying(say)
    place = walk.place
    outer = walk.procedures.get(place.procedure) if place else None
    if place is None or outer is None:
        return walk
    step = procedure.return_to.get(outer.name) if move == "finished" else None
    target = step if step in place.trail else place.step
    walk = walk.saying(f"Back to {outer.title}.")
    return arrived(walk.with_event(_moved(walk, outer.name, "returned", target)))


def into_trouble(walk: Walk, name: str, *, reported: bool) -> Walk:
    """The walk in the trouble path `name`; its first words are the first safe action."""
    if not reported:
        walk = walk.with_event(ProblemReported(at_s=walk.at_s, what=name))
    return started(walk, walk.procedures[name])


def _moved(walk: Walk, procedure: str, move: str, step: str | None, reason: str = "") -> ProcedureMoved:
    return ProcedureMoved(at_s=walk.at_s, procedure=procedure, move=move, step=step, reason=reason)


# --- what a step puts in force --------------------------------------------------------------------------------------


def _effects(walk: Walk, step: ProcedureStep) -> Walk:
    patient = walk.state.patients.get(walk.state.patient)
    if "flow_off" in step.does and patient and patient.flow_l_min != 0:
        walk = walk.with_event(FlowSet(at_s=walk.at_s, patient=patient.name, flow_l_min=0.0))
    if "next_cylinder" in step.does and patient and walk.place and patient.cylinder == walk.place.cylinder_before:
        fresh = next_cylinder(walk.state)
        walk = walk.with_event(CylinderChanged(at_s=walk.at_s, cylinder=fresh, patient=patient.name))
    if step.notes:
        walk = walk.with_event(NoteMade(at_s=walk.at_s, text=step.notes, patient=walk.state.patient))
    return walk


def next_cylinder(state: State) -> str:
    """The first cylinder that was mentioned and never used; else the next number."""
    for cylinder in state.cylinders.values():
        if not cylinder.used and cylinder.patient is None:
            return cylinder.name
    return str(max((int(name) for name in state.cylinders if name.isdigit()), default=0) + 1)


def _gap_said(step: ProcedureStep, place: Place, at_s: float) -> str:
    """How long the gas was off; empty where the step that shut it was not gone through."""
    if step.gap_from is None or step.gap_from not in place.trail:
        return ""
    seconds = round(at_s - place.left_at_s[place.trail.index(step.gap_from)])
    minutes, rest = divmod(seconds, 60)
    parts = [_counted(minutes, "minute")] if minutes else []
    parts += [_counted(rest, "second")] if rest or not minutes else []
    return f"Oxygen was off {' '.join(parts)}."


def _counted(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


# --- values ---------------------------------------------------------------------------------------------------------


def is_given(step: ProcedureStep, place: Place, walk: Walk) -> bool:
    """Whether the value the step asks for was given in this breath, or since the step `since` was left.

    Device and size keep: once known they count.
    """
    if step.asks in walk.given or (step.asks == "cylinder_size" and holds({"size": ("known",)}, walk.state)):
        return True
    given_at_s = _given_at_s(step, walk.state)
    return given_at_s is not None and given_at_s >= _since_s(step, place)


def _since_s(step: ProcedureStep, place: Place) -> float:
    if step.since is None:
        return place.since_s
    if step.since in place.trail:
        return place.left_at_s[place.trail.index(step.since)]
    return place.started_at_s


def _given_at_s(step: ProcedureStep, state: State) -> float | None:
    patient = state.patients.get(state.patient)
    if step.asks == "gauge_reading":
        cylinder = cylinder_in_hand(state)
        return cylinder.read_at_s if cylinder else None
    if step.asks == "flow_rate":
        return patient.flow_set_at_s if patient and patient.flow_l_min else None
    if step.asks == "vital_sign" and patient and patient.vitals:
        return max(vital.at_s for vital in patient.vitals.values())
    return None


def cylinder_in_hand(state: State) -> Cylinder | None:
    """The cylinder that supplies the patient attended to, or the one last spoken of."""
    return state.supply_of(state.patient) or state.cylinders.get(state.cylinder)


def judged(walk: Walk, step: ProcedureStep, *, cylinder: str | None = None) -> Walk:
    """The walk once the value asked for is there: refused, sent another way, or on to the next step with a word."""
    judgement = _judgement(step, walk.state, cylinder)
    if judgement is not None:
        walk = walk.saying(*judgement.say)
        if judgement.refuse:
            return _refusing(walk, step, judgement)
    if step.many:
        return walk if judgement is not None else walk.saying(step.say)
    return left(walk, step, "done", target=judgement.to if judgement else None)


def refused_late(walk: Walk, cylinder: str | None) -> Walk | None:
    """The walk back at the step that reads the gauge, where the reading was put right to one it refuses; else None."""
    place, here = walk.place, cylinder_in_hand(walk.state)
    if place is None or here is None or cylinder not in (None, here.name):
        return None
    steps = walk.procedures[place.procedure].steps
    name = next((n for n in reversed(place.trail) if steps[n].asks == "gauge_reading" and not steps[n].many), None)
    judgement = _judgement(steps[name], walk.state, here.name) if name else None
    if name is None or judgement is None or not judgement.refuse:
        return None
    back = walk.with_event(_moved(walk, place.procedure, "back", name)).saying(*judgement.say)
    return _refusing(back, steps[name], judgement)


def _refusing(walk: Walk, step: ProcedureStep, judgement: Judgement) -> Walk:
    if walk.place is None:
        return walk
    event = _moved(walk, walk.place.procedure, "refused", step.name, judgement.say[0])
    return replace(walk.with_event(event), refused=True)


def _judgement(step: ProcedureStep, state: State, name: str | None) -> Judgement | None:
    """The first judgement the value falls under; pressures in bar, flows in L/min."""
    if step.asks == "flow_rate":
        patient = state.patients.get(state.patient)
        value, unit = (patient.flow_l_min if patient else None), "L/min"
    else:
        cylinder = state.cylinders.get(name) if name else cylinder_in_hand(state)
        value, unit = (cylinder.pressure_bar if cylinder else None), "bar"
    if value is None:
        return None
    return next((j for j in step.judge if value < convert(j.under.value, j.under.unit, unit) - _HAIR), None)


# A reading of exactly the limit, turned into bar and back, must not fall under it.
_HAIR = 1e-3
