"""One turn of the conversation: an utterance comes in, events and a reply go out.

Pure: takes the incident as it stands and the time; what it returns is not in force until the caller appends the
events. An utterance is taken whole or not at all.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from assistant.dialogue import asking, wording
from assistant.dialogue.acceptance import events_of
from assistant.dialogue.answering import Denied, Settled, is_confirmed, settled
from assistant.dialogue.checks import doubt, refusal
from assistant.dialogue.clearness import clear
from assistant.dialogue.decide import Chosen, Doubtful, NotForUs, Unheard, decide
from assistant.dialogue.moves import move_of, question_of, step_asks, unclear_move
from assistant.dialogue.needed import answers_pending, still_needed
from assistant.dialogue.noted_values import doubt_of_note
from assistant.dialogue.overheard import decide_on_overheard
from assistant.dialogue.sense import Definite, Unclear, definite
from assistant.grammar import Grammar
from assistant.incident import events as ev
from assistant.incident.log import Incident
from assistant.incident.procedures import Procedure
from assistant.meaning import kinds as k
from assistant.meaning.contract import to_json
from assistant.meaning.understand import understand, understood_in_part
from assistant.meaning.wording import in_words
from assistant.oxygen.kit import Kit
from assistant.utterance import Utterance


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What stays the same for a whole incident."""

    kit: Kit
    grammar: Grammar
    procedures: Mapping[str, Procedure]


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """What came of an utterance; `events` are to be appended, `wants` names a read-out the caller has to add.

    `asked` is the contract's: None, or what was asked and the readings to choose from.
    """

    at_s: float
    heard: str
    outcome: str
    understood: tuple[k.Meaning, ...] = ()
    reply: str = ""
    asked: ev.QuestionAsked | None = None
    events: tuple[ev.Event, ...] = ()
    wants: k.Question | None = None


ReadOut = Callable[[k.Question, Incident, float], str]


def take_turn(
    incident: Incident, utterance: Utterance, at_s: float, setting: Setting, read_out: ReadOut | None = None
) -> Turn:
    """The turn that `utterance` makes at `at_s`; `read_out` words what a turn `wants` of the rooms above."""
    readings = understand(utterance, setting.grammar, setting.kit)
    if not readings and utterance.typed:
        readings = understood_in_part(utterance, setting.grammar, setting.kit)
    asks = step_asks(setting.procedures, incident.state)
    decision = decide(readings, utterance, incident.state, at_s, asks)
    heard = in_words(utterance.best.words, setting.grammar)
    if isinstance(decision, NotForUs):
        decision = decide_on_overheard(utterance, incident.state, at_s, asks, setting.grammar)
    match decision:
        case Chosen():
            heard = in_words(decision.reading.words, setting.grammar)
            turn = _unsafe_if_misheard(decision, utterance, incident, at_s, setting) or _on_meanings(
                decision.reading.meanings, incident, at_s, setting
            )
        case Doubtful():
            heard = in_words(decision.best.words, setting.grammar)
            turn = _doubtful(decision, incident, at_s)
            if decision.together and any(refusal(m, incident.state) for m in (*decision.choices, *decision.rest)):
                turn = _say_again(Unheard(best=decision.best), incident, at_s)
        case Unheard():
            heard = in_words(decision.best.words, setting.grammar)
            turn = _say_again(decision, incident, at_s)
        case _:
            return Turn(at_s=at_s, heard=heard, outcome="ignored")
    if turn.wants is not None and read_out is not None:
        turn = replace(turn, reply=f"{turn.reply} {read_out(turn.wants, incident, at_s)}".strip())
    return recorded(replace(turn, heard=heard), utterance)


def recorded(turn: Turn, utterance: Utterance) -> Turn:
    """`turn` with the record of what was heard in front of its events."""
    if turn.outcome == "ignored":
        return turn
    entry = ev.UtteranceHeard(
        at_s=turn.at_s,
        heard=turn.heard,
        hypotheses=tuple((h.text, h.log_likelihood) for h in utterance.hypotheses),
        outcome=turn.outcome,
        meanings=tuple(to_json(m) for m in turn.understood),
        reply=turn.reply,
        asked=asked_json(turn.asked),
    )
    return replace(turn, events=(entry, *turn.events))


def asked_json(asked: ev.QuestionAsked | None) -> dict[str, Any] | None:
    """The contract's `asked`."""
    return None if asked is None else {"about": asked.about, "choices": list(asked.choices)}


def _unsafe_if_misheard(
    chosen: Chosen, utterance: Utterance, incident: Incident, at_s: float, setting: Setting
) -> Turn | None:
    """A move that was not clearly heard is asked for, and not assumed, where the step after it is unsafe."""
    meanings = chosen.reading.meanings
    if clear(chosen.reading, utterance) or settled(meanings, incident.state) is not None:
        return None
    move = unclear_move(setting.procedures, incident.state, meanings, at_s)
    if move is None:
        return None
    rest = tuple(m for m in meanings if m.kind != move.choices[0].kind)
    return _ask(at_s, move.choices[0].kind, move.choices, rest, " ".join(move.say), understood=meanings)


def _doubtful(decision: Doubtful, incident: Incident, at_s: float) -> Turn:
    return _ask(
        at_s,
        decision.about,
        decision.choices,
        decision.rest,
        asking.choice_said(decision.choices, incident.state, decision.rest if decision.together else ()),
        understood=decision.best.meanings,
        believed=decision.believed,
        together=decision.together,
    )


def _say_again(decision: Unheard, incident: Incident, at_s: float) -> Turn:
    """A question that waits is asked again; else the whole is to be said again, twice at most."""
    pending = incident.state.question
    ignored = Turn(at_s=at_s, heard="", outcome="ignored")
    if pending is None:
        about, understood = decision.best.meanings[0].kind, decision.best.meanings
        believed = decision.believed
        return _ask(at_s, about, (), (), asking.SAY_AGAIN, understood=understood, believed=believed, together=True)
    again = asking.asked_again(pending, at_s)
    if again is None:
        return ignored
    say = wording.joined((wording.NOT_HEARD,), again, incident.state)
    understood = decision.best.meanings
    return replace(ignored, outcome="asked", understood=understood, reply=say, asked=again, events=(again,))


def _ask(
    at_s: float,
    about: str,
    choices: tuple[k.Meaning, ...],
    rest: tuple[k.Meaning, ...],
    say: str,
    *,
    understood: tuple[k.Meaning, ...] = (),
    subject: str | None = None,
    believed: tuple[tuple[k.Meaning, float], ...] = (),
    together: bool = False,
) -> Turn:
    question = ev.QuestionAsked(
        at_s=at_s,
        about=about,
        choices=tuple(to_json(c) for c in choices),
        rest=tuple(to_json(r) for r in rest),
        subject=subject,
        believed=tuple((to_json(meaning), share) for meaning, share in believed),
        together=together,
    )
    return Turn(
        at_s=at_s, heard="", outcome="asked", understood=understood, reply=say, asked=question, events=(question,)
    )


def _on_meanings(meanings: tuple[k.Meaning, ...], incident: Incident, at_s: float, setting: Setting) -> Turn:
    state = incident.state
    answer = settled(meanings, state)
    if isinstance(answer, Denied):
        again, subject = answer.all_again, answer.subject
        say = asking.SAY_AGAIN if again else asking.question_said(answer.about, state, subject)
        return _ask(at_s, answer.about, (), answer.rest, say, understood=meanings, subject=subject, together=again)
    confirmed: tuple[k.Meaning, ...] = ()
    if isinstance(answer, Settled) and answer.waiting:
        first, others = answer.meanings[0], answer.meanings[1:]
        rest = (*answer.waiting, *others)
        say = asking.choice_said((first,), state, rest)
        return _ask(at_s, first.kind, (first,), rest, say, understood=meanings, together=True)
    if isinstance(answer, Settled):
        meanings, confirmed = answer.meanings, answer.confirmed
    elif _is_no(meanings) and state.procedure is None:
        meanings = (k.Correction(),)
        if len(_last_turn(incident)) > 1:
            return _ask(at_s, "correction", (), (), wording.WHICH_IS_WRONG, understood=meanings)
    sense = definite(meanings, state, step_asks(setting.procedures, state))
    if isinstance(sense, Unclear):
        return _unclear(sense, incident, at_s)
    return _in_force(sense, confirmed, incident, at_s, setting, said=meanings, closes=answer is not None)


def _is_no(meanings: tuple[k.Meaning, ...]) -> bool:
    return len(meanings) == 1 and isinstance(meanings[0], k.Answer) and not meanings[0].yes


def _last_turn(incident: Incident) -> list[str]:
    taken = incident.state.taken
    return [t.kind for t in taken if t.turn_at_s == taken[-1].turn_at_s]


def _unclear(sense: Unclear, incident: Incident, at_s: float) -> Turn:
    say = wording.unclear_said(sense, incident.state)
    if sense.about == "correction" and sense.why == "nothing":
        return Turn(at_s=at_s, heard="", outcome="refused", understood=(k.Correction(),), reply=say)
    kinds = {choice.kind for choice in sense.choices}
    about = kinds.pop() if len(kinds) == 1 else sense.about
    return _ask(at_s, about, sense.choices, sense.rest, say, understood=sense.choices[:1] or sense.best)


def _in_force(
    sense: Definite,
    confirmed: tuple[k.Meaning, ...],
    incident: Incident,
    at_s: float,
    setting: Setting,
    *,
    said: tuple[k.Meaning, ...],
    closes: bool,
) -> Turn:
    """Check, then take: refused or asked as a whole, or every value at once."""
    state = incident.state
    corrected = any(isinstance(m, k.Correction) for m in said) or bool(sense.withdraws)
    understood = (*((k.Correction(),) if corrected else ()), *sense.meanings)
    for meaning in sense.meanings:
        if why := refusal(meaning, state):
            return Turn(at_s=at_s, heard="", outcome="refused", understood=understood, reply=wording.refused_said(why))
    for index, meaning in enumerate(sense.meanings):
        if is_confirmed(meaning, confirmed) or sense.withdraws:
            continue
        if why := doubt(meaning, state, sense.meanings):
            rest = sense.meanings[:index] + sense.meanings[index + 1 :]
            return _ask(at_s, meaning.kind, (meaning,), rest, why, understood=understood)
    return _taken(sense, understood, incident, at_s, setting, closes=closes)


def _taken(
    sense: Definite,
    understood: tuple[k.Meaning, ...],
    incident: Incident,
    at_s: float,
    setting: Setting,
    *,
    closes: bool,
) -> Turn:
    before = incident.state
    events: list[ev.Event] = []
    if sense.withdraws:
        events.append(ev.Withdrawn(at_s=at_s, numbers=sense.withdraws))
    if closes or answers_pending(sense, incident):
        events.append(ev.QuestionClosed(at_s=at_s, answered=True))
    since = sense.since_s if sense.since_s is not None else at_s
    events += events_of(sense.meanings, before, since)
    move = move_of(setting.procedures, before, incident.state_after(events), sense.meanings, at_s)
    if move is not None:
        events += move.events
    told = wording.reply_of(sense, before, incident.state_after(events), at_s, setting.grammar, move)
    events += told.events
    unclear = question_of(move, at_s)
    waits = move is not None and move.asks is not None  # the step asks already, and questions come one at a time
    question = unclear or told.question or (None if waits else still_needed(sense, incident, events, at_s))
    if question is None and (noted := doubt_of_note(sense.meanings, before, setting.grammar)) is not None:
        question = _doubtful(noted, incident, at_s).asked
    if question is not None:
        events.append(question)
    reply = wording.joined(told.sentences, None if unclear else question, incident.state_after(events))
    return Turn(
        at_s=at_s,
        heard="",
        outcome=told.outcome,
        understood=understood,
        reply=reply,
        asked=question,
        events=tuple(events),
        wants=told.wants,
    )
