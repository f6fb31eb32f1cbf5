"""Leading through a procedure: a move by voice, a value given, a problem or the time gives events, words, a question.

Pure: takes procedures (`load_procedures`) and the state; nothing is in force until the caller appends the events.
Values of the same breath are put in force first. Refuses to go on where the step in hand does.
"""

from __future__ import annotations

from dataclasses import replace

from assistant.incident.procedure_file import load_procedures
from assistant.incident.procedure_steps import Procedure, ProcedureError
from assistant.incident.state import State
from assistant.incident.step_moves import (
    REASONS,
    Move,
    about_place,
    asked_by_step,
    begun,
    by_answer,
    by_move,
    by_start,
    move_of,
    unless_unsafe,
)
from assistant.incident.walk import Procedures, Walk, into_trouble, judged, left, refused_late, step_in_hand
from assistant.meaning.kinds import Answer, CylinderChange, GaugeReading, Meaning, Problem, Question, Step

__all__ = [
    "REASONS",
    "Move",
    "Procedure",
    "ProcedureError",
    "asked_by_step",
    "begun",
    "due",
    "load_procedures",
    "moved",
    "next_due_s",
    "told",
    "trouble",
]


def trouble(procedures: Procedures, state: State, problem: Problem, at_s: float) -> Move:
    """The trouble path for `problem`, which the caller has recorded; the step in hand is come back to afterwards."""
    known = procedures.get(problem.what)
    if known is None or not known.trouble:
        return Move(say=("Shut the valve. Take another bottle.",))
    walk = Walk(procedures=procedures, state=state, at_s=at_s)
    return move_of(into_trouble(walk, known.name, reported=True))


def moved(
    procedures: Procedures,
    state: State,
    step_meaning: Step | Question | Answer,
    at_s: float,
    *,
    sure: bool = True,
    meanings: tuple[Meaning, ...] = (),
) -> Move:
    """What a move ("done", "back", ...), a question about the place, or a yes or no does to the procedure in hand.

    `sure` is false where the word was not clearly heard: it is then asked for, not assumed, if what follows is unsafe.
    `meanings` are those of the whole breath: what they give counts for the step reached.
    """
    given = frozenset(m.kind for m in meanings)
    walk = Walk(procedures=procedures, state=state, at_s=at_s, given=given)
    if isinstance(step_meaning, Step) and step_meaning.move == "start":
        return by_start(walk, step_meaning)
    step = walk.step
    if step is None or walk.place is None:
        return Move(say=("No procedure is running. Say: start set-up.",), outcome="refused")
    if isinstance(step_meaning, Question):
        return about_place(walk, step, step_meaning.about)
    if isinstance(step_meaning, Answer):
        return by_answer(walk, step, step_meaning, sure)
    answer = next((m for m in meanings if isinstance(m, Answer)), None)
    if step.asks == "answer" and answer is not None and step_meaning.move in ("done", "next"):
        return by_answer(walk, step, answer, sure)
    return by_move(walk, step, step_meaning, sure)


def told(
    procedures: Procedures,
    before: State,
    after: State,
    meanings: tuple[Meaning, ...],
    at_s: float,
    *,
    sure: bool = True,
) -> Move | None:
    """What values or an answer do to the step in hand; None where the step did not wait for any of them.

    `after` is `before` with the values in force. A value that the step in hand does not ask for is not lost: the step
    that will ask for it finds it given. One that an earlier step would have refused leads back to that step.
    """
    walk = Walk(procedures=procedures, state=after, at_s=at_s, given=frozenset(m.kind for m in meanings))
    step = walk.step
    if step is None or before.procedure is None:
        return None
    for meaning in meanings:
        if isinstance(meaning, Answer):
            return by_answer(walk, step, meaning, sure)
        if meaning.kind == step.asks:
            cylinder = meaning.cylinder if isinstance(meaning, GaugeReading) else None
            return move_of(judged(replace(walk, given=frozenset()), step, cylinder=cylinder))
        if isinstance(meaning, CylinderChange) and "next_cylinder" in step.does:
            return unless_unsafe(walk, left(walk, step, "done"), sure)
        if isinstance(meaning, GaugeReading) and (again := refused_late(walk, meaning.cylinder)) is not None:
            return move_of(again)
    return None


def due(procedures: Procedures, state: State, at_s: float) -> Move | None:
    """The move that time makes: a step that lasts so many seconds is over. None where nothing is due."""
    due_s = next_due_s(procedures, state)
    step = step_in_hand(procedures, state)
    if due_s is None or step is None or at_s < due_s:
        return None
    return move_of(left(Walk(procedures=procedures, state=state, at_s=at_s), step, "timed"))


def next_due_s(procedures: Procedures, state: State) -> float | None:
    """When `due` will have something to say, on the incident's clock."""
    step = step_in_hand(procedures, state)
    if step is None or step.seconds is None or state.procedure is None:
        return None
    return state.procedure.since_s + step.seconds
