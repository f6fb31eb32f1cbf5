"""What a word does to the step in hand: done, next, back, repeat, skip, stop, start at, yes, no, where, how many.

Takes a walk at the place; gives a `Move`. Refuses to leave out what must not be left out, and asks where a word was
unclear and what follows is unsafe.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from assistant.incident.events import Event, ProcedureMoved
from assistant.incident.procedure_steps import END, Procedure, ProcedureStep, as_name
from assistant.incident.state import State
from assistant.incident.walk import (
    Procedures,
    Walk,
    applying,
    arrived,
    ended,
    into_trouble,
    is_given,
    judged,
    left,
    standing,
    started,
    step_in_hand,
)
from assistant.meaning.kinds import Answer, Meaning, Step

# Why a step may be skipped, in the words that are recorded.
REASONS = ("already done", "not needed", "not fitted", "no time", "not possible")


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """What came of a move: events to append, sentences to say, the kind of meaning now waited for, and the outcome.

    `outcome` is the contract's: taken, asked or refused. `choices` are meanings to choose from where the move itself
    is in question ("Did you say done?").
    """

    events: tuple[Event, ...] = ()
    say: tuple[str, ...] = ()
    asks: str | None = None
    outcome: str = "taken"
    choices: tuple[Meaning, ...] = ()


def asked_by_step(procedures: Procedures, state: State) -> str | None:
    """The kind of meaning that the step in hand waits for."""
    step = step_in_hand(procedures, state)
    return step.asks if step else None


def begun(procedures: Procedures, name: str, state: State, at_s: float, at_step: str | None = None) -> Move:
    """The procedure `name` started, at its first step or at `at_step`, a step or what one is called.

    What is in hand waits for it. An unknown name or step is answered by the names there are.
    """
    procedure = _named(procedures, name)
    if procedure is None:
        return Move(say=_procedures_said(procedures), outcome="asked", asks="step")
    walk = Walk(procedures=procedures, state=state, at_s=at_s)
    if procedure.trouble:
        return move_of(into_trouble(walk, procedure.name, reported=False))
    if at_step is None:
        return move_of(started(walk, procedure, opening=f"{procedure.title}."))
    step = procedure.place_called(at_step)
    if step is None:
        return _no_such_step(walk, procedure)
    unchecked = "" if step == procedure.first else "Earlier steps are not checked."
    return move_of(started(walk, procedure, step, opening=f"{procedure.title}. {unchecked}".strip()))


def _named(procedures: Procedures, name: str) -> Procedure | None:
    """The procedure of that name or title ("set_up", "Set-up")."""
    wanted = as_name(name)
    return next((p for p in procedures.values() if wanted in (p.name, as_name(p.title))), None)


def move_of(walk: Walk, outcome: str = "taken") -> Move:
    asks = asked_by_step(walk.procedures, walk.state)
    return Move(events=walk.events, say=walk.say, asks=asks, outcome="refused" if walk.refused else outcome)


def asking(walk: Walk, *say: str, choices: tuple[Meaning, ...] = ()) -> Move:
    """Nothing changed: something is asked instead."""
    asks = "step" if choices else asked_by_step(walk.procedures, walk.state)
    return Move(say=say, asks=asks, outcome="asked", choices=choices)


def _no_such_step(walk: Walk, procedure: Procedure) -> Move:
    return replace(asking(walk, f"No such step in {procedure.title}."), outcome="refused")


def by_start(walk: Walk, meaning: Step) -> Move:
    """Another procedure, or the one in hand from another step ("start from the regulator")."""
    if meaning.procedure is not None:
        return begun(walk.procedures, meaning.procedure, walk.state, walk.at_s, meaning.at)
    if meaning.at is None:
        return asking(walk, *_procedures_said(walk.procedures))
    if walk.place is not None:
        return _moved_to(walk, walk.procedures[walk.place.procedure], meaning.at)
    for name in ("set_up", *walk.procedures):
        if name in walk.procedures and walk.procedures[name].place_called(meaning.at):
            return begun(walk.procedures, name, walk.state, walk.at_s, meaning.at)
    return Move(say=("No such step. Say: start set-up.",), outcome="refused")


def _moved_to(walk: Walk, procedure: Procedure, at: str) -> Move:
    """Another step of the procedure in hand: earlier ones are gone back to, later ones leave some unchecked."""
    place, step = walk.place, procedure.place_called(at)
    if place is None or step is None:
        return _no_such_step(walk, procedure)
    ahead = procedure.comes_after(step, place.step)
    move, reason = ("skipped", f"started from {step}") if ahead else ("back", "")
    if ahead and (barred := _barred(procedure, place.step, step, walk.state)):
        return replace(asking(walk, "Not past this one.", barred.must, barred.say), outcome="refused")
    step = applying(procedure, step, walk.state)
    walk = walk.saying("Steps between are not checked." if ahead else "")
    event = ProcedureMoved(at_s=walk.at_s, procedure=procedure.name, move=move, step=step, reason=reason)
    return move_of(arrived(walk.with_event(event)))


def _barred(procedure: Procedure, here: str, there: str, state: State) -> ProcedureStep | None:
    """The first step from `here` to before `there` that must not be left out."""
    name = here
    while name not in (there, END):
        step = procedure.steps[name]
        if step.must:
            return step
        name = standing(procedure, step.next, state)
    return None


def by_move(walk: Walk, step: ProcedureStep, meaning: Step, sure: bool) -> Move:
    match meaning.move:
        case "done" | "next":
            return _done(walk, step, meaning, sure)
        case "skip":
            return _skipped(walk, step, meaning, sure)
        case "back":
            return _back(walk, step)
        case "stop":
            return _stopped(walk)
        case _:
            return move_of(walk.saying(*step.prompts))


def _done(walk: Walk, step: ProcedureStep, meaning: Step, sure: bool) -> Move:
    place = walk.place
    if place is None:
        return asking(walk, step.say)
    if step.asks == "answer":
        return asking(walk, "Yes or no?", step.say)
    if step.asks is not None:
        if step.many:
            return unless_unsafe(walk, left(walk, step, "done"), sure)
        return move_of(judged(walk, step)) if is_given(step, place, walk) else asking(walk, step.say)
    wait_s = (step.seconds or 0) - (walk.at_s - place.since_s)
    if wait_s > 0 and meaning.move == "done":
        seconds = math.ceil(wait_s)
        return asking(walk, f"{seconds} more second{'' if seconds == 1 else 's'}.")
    return unless_unsafe(walk, left(walk, step, "done"), sure)


def unless_unsafe(walk: Walk, onward: Walk, sure: bool, said: Meaning | None = None) -> Move:
    """`onward`, unless the word was unclear and what follows is unsafe: then it is asked for."""
    if not sure and onward.step is not None and onward.step.confirm and onward.step is not walk.step:
        question = "Did you say yes?" if isinstance(said, Answer) and said.yes else "Did you say done?"
        question = "Did you say no?" if isinstance(said, Answer) and not said.yes else question
        return asking(walk, question, choices=(said or Step(move="done"),))
    return move_of(onward)


def by_answer(walk: Walk, step: ProcedureStep, answer: Answer, sure: bool) -> Move:
    """An answer opens its branch. Where none was asked for, "yes" is an unclear "done" and "no" is not done."""
    following = walk.procedures[walk.place.procedure].steps.get(step.next) if walk.place else None
    if step.seconds is not None and following is not None and following.asks == "answer":
        timed = left(walk, step, "timed")
        return by_answer(replace(timed, say=()), following, answer, sure)
    if step.asks != "answer":
        return _done(walk, step, Step(move="done"), sure=False) if answer.yes else asking(walk, *step.prompts)
    into = step.yes_trouble if answer.yes else step.no_trouble
    if into is not None:
        return move_of(into_trouble(walk, into, reported=False))
    onward = left(walk, step, "done", reason="yes" if answer.yes else "no", target=step.yes if answer.yes else step.no)
    return unless_unsafe(walk, onward, sure, answer)


def _skipped(walk: Walk, step: ProcedureStep, meaning: Step, sure: bool) -> Move:
    if step.must:
        return replace(asking(walk, "Not this one.", step.must, step.say), outcome="refused")
    if not meaning.reason:
        return asking(walk, "Say skip with the reason.", f"{', '.join(REASONS[:-1])}, or {REASONS[-1]}.".capitalize())
    onward = left(walk.saying(f"Skipped, {meaning.reason}."), step, "skipped", reason=meaning.reason)
    return unless_unsafe(walk, onward, sure, meaning)


def _back(walk: Walk, step: ProcedureStep) -> Move:
    place = walk.place
    if place is None or not place.trail:
        return move_of(walk.saying("This is the first step.", *step.prompts))
    event = ProcedureMoved(at_s=walk.at_s, procedure=place.procedure, move="back", step=place.trail[-1])
    walk = walk.with_event(event)
    return move_of(walk.saying(*(walk.step.prompts if walk.step else ())))


def _stopped(walk: Walk) -> Move:
    if walk.place is None:
        return move_of(walk)
    procedure = walk.procedures[walk.place.procedure]
    return move_of(ended(walk, procedure, move="stopped", say=f"{procedure.title} stopped."))


def about_place(walk: Walk, step: ProcedureStep, about: str) -> Move:
    """ "Where was I" and "how many more"; the place stays."""
    if walk.place is None:
        return move_of(walk)
    procedure = walk.procedures[walk.place.procedure]
    if about == "steps_left":
        return move_of(walk.saying(_steps_left_said(procedure, step, walk.state)))
    return move_of(walk.saying(f"{procedure.title}.", step.say))


def _steps_left_said(procedure: Procedure, step: ProcedureStep, state: State) -> str:
    """How many steps follow if nothing goes wrong and nothing new is learned."""
    count, name = 0, standing(procedure, step.usual_next, state)
    while name != END:
        count, name = count + 1, standing(procedure, procedure.steps[name].usual_next, state)
    if count == 0:
        return "This is the last step."
    return f"{count} more step{'' if count == 1 else 's'} after this one."


def _procedures_said(procedures: Procedures) -> tuple[str, ...]:
    titles = [p.title for p in procedures.values() if not p.trouble]
    return ("Which one?", f"{', '.join(titles)}.".capitalize())
