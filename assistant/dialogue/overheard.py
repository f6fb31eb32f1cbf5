"""What was said in other words than the grammar's, and written down by a second model: takes the utterance and the
state, gives what to ask for. The text may be misheard and meant for others: no value of it is taken. A question is
answered.
"""

from __future__ import annotations

from assistant.dialogue.checks import refusal
from assistant.dialogue.decide import OFFERED, Chosen, Doubtful, NotForUs, confirmed_by_one_yes
from assistant.grammar import Grammar
from assistant.incident.state import Pending, State
from assistant.meaning import kinds as k
from assistant.meaning.understand import Reading, understood_freely
from assistant.utterance import Utterance

# A question that nobody answered for so long was not heard, or there is something else to do. Our choice.
LEFT_AFTER_S = 20.0


def decide_on_overheard(
    utterance: Utterance, state: State, at_s: float, asks: str | None, grammar: Grammar
) -> Chosen | Doubtful | NotForUs:
    """Its values to be confirmed, all together, where they can be; `asks` is what the procedure's step waits for.

    What only asks something, or for the last words again, is answered: that changes nothing.

    Not in place of an open question, unless it answers that, or it was asked long ago: questions do not pile up, and no
    reading that waits to be confirmed is lost. Nor beside a step that waits for yes or no: which would be answered?
    """
    readings = understood_freely(utterance, grammar, state.kit)
    if answered_overheard(readings):
        return Chosen(reading=readings[0], sure=False)
    pending = state.question
    if asks == "answer" or (pending is not None and (pending.choices or pending.rest)):
        return NotForUs()
    question = values_overheard(readings)
    if not isinstance(question, Doubtful):
        return question
    offered = (*question.choices, *question.rest)
    if any(refusal(meaning, state) for meaning in offered):
        return NotForUs()
    in_place = pending is None or _answers(offered, pending) or at_s - pending.at_s > LEFT_AFTER_S
    return question if in_place else NotForUs()


def answered_overheard(readings: tuple[Reading, ...]) -> bool:
    """Whether the text only asks something."""
    return bool(readings) and all(_changes_nothing(meaning) for meaning in readings[0].meanings)


def values_overheard(readings: tuple[Reading, ...]) -> Doubtful | NotForUs:
    """The values that the text states, whatever the state, to be confirmed together."""
    meanings = readings[0].meanings if readings else ()
    values = tuple(m for m in meanings if isinstance(m, OFFERED))
    others = tuple(m for m in meanings if m not in values)
    if not values or not all(isinstance(m, k.Attend) for m in others):
        return NotForUs()
    return confirmed_by_one_yes(readings[0], values, others)


def _changes_nothing(meaning: k.Meaning) -> bool:
    return isinstance(meaning, k.Question) or meaning == k.Step(move="repeat")


def _answers(offered: tuple[k.Meaning, ...], pending: Pending) -> bool:
    return any(pending.about in (m.kind, getattr(m, "sign", None)) for m in offered)
