"""What is asked after values were taken, and whether they answered the question that waited."""

from __future__ import annotations

from assistant.dialogue import asking
from assistant.dialogue.sense import EVENT_OF_KIND, Definite
from assistant.incident import events as ev
from assistant.incident.log import Incident


def answers_pending(sense: Definite, incident: Incident) -> bool:
    """Whether what was taken answers the question that waits."""
    pending = incident.state.question
    if pending is None:
        return False
    if pending.about == "correction":
        return bool(sense.withdraws)
    return any(pending.about in (m.kind, getattr(m, "sign", None)) for m in sense.meanings)


def still_needed(sense: Definite, incident: Incident, events: list[ev.Event], at_s: float) -> ev.QuestionAsked | None:
    """The next thing to ask: what the minutes lack, or the pending question again; only where a value was given."""
    state = incident.state_after(events)
    if not any(m.kind in EVENT_OF_KIND for m in sense.meanings) and not sense.withdraws:
        return None
    if state.question is not None and state.question.choices:
        return asking.asked_again(state.question, at_s)
    needed = asking.needed_next(state, at_s)
    if needed is not None:
        return needed
    if sense.undone and sense.undone[0] in asking.ASKABLE:
        return ev.QuestionAsked(at_s=at_s, about=sense.undone[0])
    return asking.asked_again(state.question, at_s) if state.question is not None else None
