"""The reply to a taken turn, put together sentence by sentence: read-back, cautions, minutes, answers, next step."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.dialogue import answers, asking
from assistant.dialogue.cautions import cautions_of
from assistant.dialogue.numbers_said import said
from assistant.dialogue.overview import overview
from assistant.dialogue.readback import read_back, sentence, undone_said
from assistant.dialogue.sense import Definite, Unclear
from assistant.dialogue.supply_now import supply_now
from assistant.grammar import Grammar
from assistant.incident import events as ev
from assistant.incident.procedures import Move
from assistant.incident.state import Alert, State
from assistant.meaning import kinds as k

WHICH_IS_WRONG = "Which value is wrong? Say it with its name."
NOT_HEARD = "Not clear."
NOTHING_IN_HAND = "No procedure is running. Say: start set-up."
# A change of any of these changes the minutes, so they are told again.
_UNDOING_MOVES_THEM = ("gauge_reading", "cylinder_size", "cylinder_change", "flow_rate", "temperature")
_MOVES_THE_MINUTES = (k.GaugeReading, k.CylinderSize, k.CylinderChange, k.FlowRate, k.Temperature)


ALERT_SAID = {
    "reserve_near": "near reserve",
    "reserve_reached": "at reserve",
    "empty": "bottle empty",
    "leak_suspected": "leak",
    "reading_overdue": "gauge reading",
    "handover_not_covered": "hand-over not covered",
    "flow_out_of_range": "flow out of range",
    "saturation_low": "low saturation",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """The sentences of a reply and what comes with them."""

    sentences: tuple[str, ...]
    question: ev.QuestionAsked | None = None
    events: tuple[ev.Event, ...] = ()
    outcome: str = "taken"
    wants: k.Question | None = None


def refused_said(why: str) -> str:
    """A refusal: the reason, and that nothing of the utterance was taken."""
    return f"{sentence(why)} Nothing taken. Say it again."


def unclear_said(sense: Unclear, state: State) -> str:
    """What to ask where a number or a correction has no clear sense."""
    if sense.about == "correction":
        if sense.why == "nothing":
            return "Nothing to correct."
        return asking.choice_said(sense.choices, state) if len(sense.choices) > 1 else WHICH_IS_WRONG
    if sense.choices:
        return asking.choice_said(sense.choices, state)
    number = sense.best[0] if sense.best else None
    what = f"{said(number.value)}: " if isinstance(number, k.BareNumber) else ""
    return f"{what.capitalize()}gauge, flow or saturation? Say it with its name."


def joined(sentences: tuple[str, ...], question: ev.QuestionAsked | None, state: State) -> str:
    """The reply as one text, the question last."""
    parts = [s for s in sentences if s]
    if question is not None:
        asked = asking.asked_in_words(question, state)
        if asked not in parts:
            parts.append(asked)
    return " ".join(parts)


def reply_of(
    sense: Definite,
    before: State,
    state: State,
    at_s: float,
    grammar: Grammar,
    move: Move | None,
) -> Told:
    """The reply to what was just taken; `state` is the state with it."""
    lead = ("Corrected.",) if sense.withdraws and sense.meanings else ()
    undone = (undone_said(sense.undone),) if sense.undone else ()
    values = tuple(read_back(sense.meanings, state))
    told = [_answered(m, before, state, at_s, grammar) for m in sense.meanings]
    moved = move.say if move is not None else ()
    minutes = _minutes(sense, state, at_s)
    answered = tuple(s for t in told for s in t.sentences if s not in minutes)
    cautions = cautions_of(sense.meanings, before, state, at_s)
    return Told(
        sentences=(*lead, *undone, *values, *cautions, *minutes, *answered, *moved),
        question=next((t.question for t in told if t.question is not None), None),
        events=tuple(e for t in told for e in t.events),
        outcome=move.outcome if move is not None and not values else "taken",
        wants=next((t.wants for t in told if t.wants is not None), None),
    )


def _minutes(sense: Definite, state: State, at_s: float) -> tuple[str, ...]:
    """The minutes anew for each cylinder whose supply changed; nothing where the flow is off or unknown."""
    moved = any(kind in _UNDOING_MOVES_THEM for kind in sense.undone)
    if not moved and not any(isinstance(m, _MOVES_THE_MINUTES) for m in sense.meanings):
        return ()
    patients = {getattr(m, "patient", None) for m in sense.meanings} - {None}
    names = {getattr(m, "cylinder", None) for m in sense.meanings} - {None}
    names |= {p.cylinder for p in state.patients.values() if p.name in patients}
    said_minutes = []
    for cylinder in state.cylinders.values():
        if cylinder.patient is None or (names and cylinder.name not in names):
            continue
        now = supply_now(cylinder, state, at_s)
        if now.minutes is not None:
            said_minutes.append(answers.remaining_said(now, state))
    return tuple(said_minutes)


def _answered(m: k.Meaning, before: State, state: State, at_s: float, grammar: Grammar) -> Told:
    match m:
        case k.Question():
            return _question(m, state, at_s, grammar)
        case k.AlarmHeard():
            return _acknowledged(state, at_s)
        case k.Step() if before.procedure is None and m.move != "start":
            again = m.move == "repeat" and bool(before.last_reply)
            return Told(sentences=(before.last_reply if again else NOTHING_IN_HAND,))
        case _:
            return Told(sentences=())


def _question(q: k.Question, state: State, at_s: float, grammar: Grammar) -> Told:
    match q.about:
        case "time_remaining":
            return _asking_back(answers.time_remaining(q, state, at_s), at_s)
        case "lasting_flow":
            return _asking_back(answers.lasting_flow(q, state, at_s), at_s)
        case "overview":
            return Told(sentences=(overview(state, at_s),))
        case "pressure_now":
            return Told(sentences=(answers.pressure_answer(q, state, at_s),))
        case "latest_vitals":
            return Told(sentences=(answers.latest_vitals(q, state, at_s),))
        case "cylinders_left":
            return Told(sentences=(answers.cylinders_left(state, at_s),))
        case "size_meaning":
            return Told(sentences=(answers.size_meaning(q, state),))
        case "what_can_i_say":
            return Told(sentences=answers.sayable(grammar))
        case "next_step" | "steps_left":
            return Told(sentences=() if state.procedure is not None else (NOTHING_IN_HAND,))
        case _:
            return Told(sentences=(), wants=q)


def _asking_back(answer: tuple[str, str | None, str | None], at_s: float) -> Told:
    say, about, subject = answer
    question = ev.QuestionAsked(at_s=at_s, about=about, subject=subject) if about is not None else None
    return Told(sentences=(say,), question=question)


_WORST_FIRST = ("high", "medium", "low")


def current_alert(state: State) -> Alert | None:
    """The alert in hand: of those not acknowledged, the worst, and of these the one said last."""
    waiting = [a for a in state.alerts.values() if a.acknowledged_at_s is None]
    return min(waiting, key=lambda a: (_WORST_FIRST.index(a.priority), -a.last_at_s), default=None)


def _acknowledged(state: State, at_s: float) -> Told:
    alert = current_alert(state)
    if alert is None:
        return Told(sentences=("No alert is waiting.",))
    event = ev.AlertAcknowledged(at_s=at_s, alert=alert.alert, cylinder=alert.cylinder, patient=alert.patient)
    return Told(sentences=(sentence(f"noted: {ALERT_SAID[alert.alert]}"),), events=(event,))
