"""The procedure in hand, as the turn sees it: what its step waits for, and where the words just said lead."""

from __future__ import annotations

from collections.abc import Mapping

from assistant.incident import events as ev
from assistant.incident import procedures as pr
from assistant.incident.state import State
from assistant.meaning import kinds as k
from assistant.meaning.contract import to_json

_ABOUT_PLACE = ("next_step", "steps_left")


def step_asks(procedures: Mapping[str, pr.Procedure], state: State) -> str | None:
    """The kind of meaning that the step in hand waits for, so that a bare number or a yes is its answer."""
    return pr.asked_by_step(procedures, state)


def move_of(
    procedures: Mapping[str, pr.Procedure],
    before: State,
    after: State,
    meanings: tuple[k.Meaning, ...],
    at_s: float,
) -> pr.Move | None:
    """Where `meanings` lead in the procedures; None where they are about something else.

    Trouble comes before everything; a step moved by hand ("done, reads nineteen hundred") takes values with it.
    """
    for meaning in meanings:
        if isinstance(meaning, k.Problem):
            return pr.trouble(procedures, after, meaning, at_s)
        if isinstance(meaning, k.VitalSign) and _stopped_answering(meaning, before):
            return pr.begun(procedures, "patient_unresponsive", after, at_s)
    for meaning in meanings:
        if isinstance(meaning, k.Step | k.Question | k.Answer) and _is_a_move(meaning, before):
            return pr.moved(procedures, after, meaning, at_s, meanings=meanings)
    return pr.told(procedures, before, after, meanings, at_s) if before.procedure is not None else None


def unclear_move(
    procedures: Mapping[str, pr.Procedure], state: State, meanings: tuple[k.Meaning, ...], at_s: float
) -> pr.Move | None:
    """What to ask of a move that was not clearly heard; None where it is none, or nothing unsafe would follow it."""
    for meaning in meanings:
        if isinstance(meaning, k.Step | k.Answer) and _is_a_move(meaning, state):
            move = pr.moved(procedures, state, meaning, at_s, sure=False, meanings=meanings)
            return move if move.choices else None
    return None


def _stopped_answering(vital: k.VitalSign, before: State) -> bool:
    """Whether a patient is found unresponsive who was not so before: out of scope, and said at once."""
    patient = before.patients.get(vital.patient or before.patient)
    known = patient.vitals.get(vital.sign) if patient is not None else None
    return (vital.sign, vital.value) == ("consciousness", "U") and (known is None or known.value != "U")


def question_of(move: pr.Move | None, at_s: float) -> ev.QuestionAsked | None:
    """The question that a move asks of itself ("Did you say done?"); its words are among those of the move."""
    if move is None or not move.choices:
        return None
    return ev.QuestionAsked(at_s=at_s, about=move.choices[0].kind, choices=tuple(to_json(c) for c in move.choices))


def _is_a_move(meaning: k.Step | k.Question | k.Answer, before: State) -> bool:
    if before.procedure is None:
        return isinstance(meaning, k.Step) and meaning.move == "start"
    return meaning.about in _ABOUT_PLACE if isinstance(meaning, k.Question) else True
