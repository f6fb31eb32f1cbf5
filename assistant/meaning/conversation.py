"""Builders for questions, moves in a procedure, answers, corrections, notes and bare numbers."""

from __future__ import annotations

from assistant.grammar import Node
from assistant.meaning.equipment import size_named
from assistant.meaning.kinds import (
    SAID_AGAIN,
    AlarmHeard,
    Answer,
    BareNumber,
    Correction,
    Meaning,
    Note,
    Question,
    Step,
)
from assistant.meaning.numbers import tags
from assistant.meaning.registry import builds
from assistant.meaning.tree import first, number, ordinal, tag
from assistant.oxygen.kit import Kit

QUESTIONS = (
    "time_remaining",
    "pressure_now",
    "lasting_flow",
    "next_step",
    "latest_vitals",
    "what_can_i_say",
    "report",
    "size_meaning",
    "steps_left",
    "cylinders_left",
    "repeat_all_after",
    "radio_report",
    "go_ahead",
    "overview",
)
MOVES = ("done", "next", "back", "repeat", "start", "skip", "stop")
PROCEDURES = ("set_up", "cylinder_change", "device_change", "take_apart", "readiness_check")
BARE_UNITS = ("%", "min")


@builds("question", "asked", "how_long", "help_word")
def question(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """What is asked; `detail` is the size or the word that it is about."""
    about = tag(node, QUESTIONS)
    assert about is not None
    word = first(node, "report_word")
    detail = " ".join(word.words()) if word else size_named(node, kit)
    return (Question(about=about, detail=detail, cylinder=ordinal(node, "numbered_cylinder")),)


@builds("step", "step_done")
def step(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """The move; of a start the procedure and the step it begins at, of a skip the reason."""
    move = tag(node, MOVES)
    assert move is not None
    place, reason = first(node, "step_place"), first(node, "known_reason") or first(node, "anything")
    return (
        Step(
            move=move,
            procedure=tag(node, PROCEDURES),
            at="_".join(place.words()) if place else None,
            reason=" ".join(reason.words()) if reason else None,
        ),
    )


@builds("yes", "no", "yes_alone")
def yes_or_no(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """A plain answer."""
    return (Answer(yes="yes" in tags(node)),)


@builds("felt", "unheard")
def found(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """What a step's question asks about was found, or not. The record keeps the words, and they stand first: such an
    answer must not settle a question about a value."""
    return (Note(text=" ".join(node.words())), Answer(yes=node.rule == "felt"))


@builds("first", "second")
def choice(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """One of two readings."""
    return (Answer(yes=True, choice=1 if node.rule == "first" else 2),)


@builds("correction", "taken_back", "amending", "amending_number", "denied_flow", "denied_pressure")
def correction(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """The last value was wrong, or the one before."""
    return (Correction(back=1 if node.rule == "earlier_wrong" or first(node, "earlier_wrong") else 0),)


@builds("alarm_heard", "heard_it", "got_it")
def alarm_heard(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """The alert in hand was heard."""
    return (AlarmHeard(),)


@builds("note")
def note(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """The free words after "note"."""
    said = first(node, "anything")
    return () if said is None else (Note(text=" ".join(said.words())),)


@builds("said_again")
def said_again(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """The number said once more."""
    return (BareNumber(value=number(node, "number"), unit=SAID_AGAIN),)


@builds("bare_number")
def bare_number(node: Node, kit: Kit) -> tuple[Meaning, ...]:
    """A number that a pending question gives a sense."""
    return (BareNumber(value=number(node, "number", "typed_number"), unit=tag(node, BARE_UNITS)),)
