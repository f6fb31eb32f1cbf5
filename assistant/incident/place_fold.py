"""The fold of a place: where in a procedure the incident is, what was gone through, and what waits to be taken up."""

from __future__ import annotations

from dataclasses import replace

from assistant.incident.events import ProcedureMoved
from assistant.incident.state import Patient, Place, State


def procedure_moved(state: State, e: ProcedureMoved) -> State:
    """The state with the place that `e` leads to; without a step, the place that waited is taken up again."""
    here = state.procedure
    if e.step is None:
        return replace(state, procedure=_outer(here))
    if here is None or here.procedure != e.procedure or e.move == "started":
        return replace(state, procedure=_begun(state, e, e.step))
    if e.step == here.step and e.move != "returned":
        return state
    return replace(state, procedure=_at_step(here, e, e.step))


def _outer(here: Place | None) -> Place | None:
    if here is None or not here.returns:
        return None
    return replace(here.returns[-1], returns=here.returns[:-1])


def _begun(state: State, e: ProcedureMoved, step: str) -> Place:
    """A place in a procedure just started; what was in hand waits for it, unless it is the same one anew."""
    here, patient = state.procedure, state.patients.get(state.patient) or Patient(name=state.patient)
    waiting = (*here.returns, replace(here, returns=())) if here is not None else ()
    names = [place.procedure for place in waiting]
    return Place(
        procedure=e.procedure,
        step=step,
        since_s=e.at_s,
        started_at_s=e.at_s,
        returns=waiting[: names.index(e.procedure)] if e.procedure in names else waiting,
        flow_before_l_min=patient.flow_l_min or 0.0,
        cylinder_before=patient.cylinder,
    )


def _at_step(here: Place, e: ProcedureMoved, step: str) -> Place:
    """The place at another step of the same procedure; going back to a step forgets what came after it."""
    if e.move in ("back", "returned"):
        kept = here.trail.index(step) if step in here.trail else len(here.trail)
        trail, left_at_s = here.trail[:kept], here.left_at_s[:kept]
    else:
        trail, left_at_s = (*here.trail, here.step), (*here.left_at_s, e.at_s)
    return replace(here, step=step, since_s=e.at_s, trail=trail, left_at_s=left_at_s)
