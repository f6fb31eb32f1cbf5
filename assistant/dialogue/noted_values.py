"""A value that was told as a note: takes the note and the state, gives the question whether it is to be in force.

"Note saturation ninety one" keeps the words for the record, and nothing reckons with them. Who says so may think that
it does.
"""

from __future__ import annotations

from assistant.dialogue.checks import refusal
from assistant.dialogue.decide import OFFERED
from assistant.grammar import Grammar
from assistant.incident import events as ev
from assistant.incident.state import State
from assistant.meaning import kinds as k
from assistant.meaning.contract import to_json
from assistant.meaning.typed import typed
from assistant.meaning.understand import understand


def asked_of_note(
    meanings: tuple[k.Meaning, ...], state: State, at_s: float, grammar: Grammar
) -> ev.QuestionAsked | None:
    """The question about the values that are the whole of a lone note; None where it holds none, or one that cannot
    be, or where another question waits."""
    if len(meanings) != 1 or not isinstance(meanings[0], k.Note) or state.question is not None:
        return None
    readings = understand(typed(meanings[0].text, grammar), grammar, state.kit) if meanings[0].text else ()
    values = readings[0].meanings if readings else ()
    if not values or not all(isinstance(m, OFFERED) and refusal(m, state) is None for m in values):
        return None
    return ev.QuestionAsked(
        at_s=at_s,
        about=values[0].kind,
        choices=(to_json(values[0]),),
        rest=tuple(to_json(m) for m in values[1:]),
        together=len(values) > 1,
    )
