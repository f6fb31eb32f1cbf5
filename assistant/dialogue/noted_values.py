"""A value that was told as a note: takes the note and the state, gives the question whether it is to be in force.

"Note saturation ninety one" keeps the words for the record, and nothing reckons with them. Who says so may think that
it does.
"""

from __future__ import annotations

from assistant.dialogue.checks import refusal
from assistant.dialogue.decide import OFFERED, Doubtful, confirmed_by_one_yes
from assistant.grammar import Grammar
from assistant.incident.state import State
from assistant.meaning import kinds as k
from assistant.meaning.typed import typed
from assistant.meaning.understand import understand


def doubt_of_note(meanings: tuple[k.Meaning, ...], state: State, grammar: Grammar) -> Doubtful | None:
    """The values that are the whole of a lone note, to be confirmed together; None where it holds none, or one that
    cannot be, or where another question waits."""
    if len(meanings) != 1 or not isinstance(meanings[0], k.Note) or state.question is not None:
        return None
    readings = understand(typed(meanings[0].text, grammar), grammar, state.kit) if meanings[0].text else ()
    values = readings[0].meanings if readings else ()
    if not values or not all(isinstance(m, OFFERED) and refusal(m, state) is None for m in values):
        return None
    return confirmed_by_one_yes(readings[0], values, ())
