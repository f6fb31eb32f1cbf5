"""Which reading of an utterance is taken, asked about or left alone: whatever is expected to cost least.

Takes the readings, best first, and the state; gives a decision as a value and changes nothing. Typed text is certain.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from assistant.dialogue.answering import settled_number
from assistant.dialogue.sense import corrected_by, number_as
from assistant.dialogue.weigh import Weighed, begun_anew, log_sum, weighed
from assistant.dialogue.weights import COSTS, Costs
from assistant.incident.state import State
from assistant.meaning import kinds as k
from assistant.meaning.understand import Reading, better_rated
from assistant.utterance import Utterance

# What a question can offer to choose from. A correction and an answer change values too, but are said again instead.
OFFERED = (
    k.GaugeReading,
    k.CylinderSize,
    k.CylinderChange,
    k.FlowRate,
    k.DeliveryDevice,
    k.VitalSign,
    k.TimeToHandover,
    k.TargetSaturation,
    k.Altitude,
    k.Temperature,
)
# A problem sets no value, but its cure is told at once: to lift a mask that need not be lifted, or to shut a valve.
_HEARD_OFFERED = (*OFFERED, k.Problem)
_MATTERS = (*OFFERED, k.BareNumber, k.Correction, k.Attend, k.Problem)
# What is acted on though there were other words beside it: it sets nothing.
_HARMLESS = (k.Question, k.Problem, k.AlarmHeard)
# A rival value this improbable is not offered: the question is then whether the one value is right.
LEAST_OFFERED = 0.02
MOST_BELIEVED = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """One reading clearly leads. `sure`: that it was said is beyond doubt, so that even a rash step may follow it."""

    reading: Reading
    sure: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubtful:
    """A value that matters is uncertain: `choices`, best first, one to confirm or two; `rest` is what else was said.

    `together`: `rest` is as uncertain, and offered with the choice.
    """

    best: Reading
    about: str
    choices: tuple[k.Meaning, ...]
    rest: tuple[k.Meaning, ...]
    believed: tuple[tuple[k.Meaning, float], ...] = ()
    together: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Unheard:
    """For the assistant, but more than one thing of it is uncertain: it has to be said again. `best` is a guess."""

    best: Reading
    believed: tuple[tuple[k.Meaning, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class NotForUs:
    """Silence, noise or other people's talk."""


Decision = Chosen | Doubtful | Unheard | NotForUs


def decide(
    readings: tuple[Reading, ...], utterance: Utterance, state: State, at_s: float, asks: str | None = None
) -> Decision:
    """The decision on one utterance; `asks` is what the procedure's step waits for."""
    if not readings:
        return NotForUs()
    if utterance.typed:
        return _on_part(readings[0], state, asks) if readings[0].partly else Chosen(reading=readings[0])
    found = weighed(_merged(readings, state), utterance, state, at_s, asks)
    course = min(_courses(found, state, asks, COSTS), key=lambda course: course[0])[1]
    return replace(course, believed=_believed(found)) if isinstance(course, Doubtful | Unheard) else course


def _on_part(reading: Reading, state: State, asks: str | None) -> Decision:
    """What was only partly understood: its values are asked for, what changes none of them is taken."""
    meant = [_as_meant(m, state, asks) if isinstance(m, (*OFFERED, k.BareNumber)) else None for m in reading.meanings]
    values = tuple(m for m in meant if m is not None)
    last = max((at for at, m in enumerate(meant) if m is not None), default=-1)
    # "Latest pressure ..." asks nothing where the pressure follows; nor is an alert heard by "I hear it hissing".
    asked = [m for at, m in enumerate(reading.meanings) if isinstance(m, k.Question) and at > last]
    rest: tuple[k.Meaning, ...] = (*(m for m in reading.meanings if isinstance(m, k.Problem)), *asked)
    if any(isinstance(m, k.Correction) for m in reading.meanings):
        return Unheard(best=reading)
    if values:
        return Doubtful(
            best=reading, about=values[0].kind, choices=values[:1], rest=(*values[1:], *rest), together=True
        )
    return Chosen(reading=replace(reading, meanings=rest)) if rest else NotForUs()


def _believed(found: Weighed) -> tuple[tuple[k.Meaning, float], ...]:
    """How probable each of the likeliest things heard is, to be added to by what is said next.

    But what means something only where it was said: a bare number, yes or no, a correction, whom the rest is about.
    """
    shares: dict[k.Meaning, float] = {}
    for reading, share in found.readings:
        for meaning in reading.meanings:
            if not isinstance(meaning, k.BareNumber | k.Answer | k.Correction | k.Attend):
                shares[meaning] = shares.get(meaning, 0.0) + share
    likeliest = sorted(shares.items(), key=lambda pair: -pair[1])[:MOST_BELIEVED]
    return tuple((meaning, round(share, 3)) for meaning, share in likeliest if share >= LEAST_OFFERED)


def _merged(readings: tuple[Reading, ...], state: State) -> tuple[Reading, ...]:
    """Readings that come to the same now, under the first of them: the cylinder in use named or not, so the patient."""
    merged: dict[tuple[k.Meaning, ...], Reading] = {}
    for reading in readings:
        key = tuple(_unnamed(meaning, state) for meaning in reading.meanings)
        known = merged.get(key)
        if known is not None:
            reading = replace(
                known,
                log_score=log_sum((known.log_score, reading.log_score)),
                first_in=known.first_in + reading.first_in,
                rated=better_rated(known.rated, reading.rated),
            )
        merged[key] = reading
    return tuple(merged.values())


def _unnamed(meaning: k.Meaning, state: State) -> k.Meaning:
    match meaning:
        case k.GaugeReading() | k.CylinderSize() if meaning.cylinder == state.cylinder:
            return replace(meaning, cylinder=None)
        case k.FlowRate() | k.DeliveryDevice() | k.VitalSign() if meaning.patient == state.patient:
            return replace(meaning, patient=None)
    return meaning


def _courses(found: Weighed, state: State, asks: str | None, costs: Costs) -> Iterator[tuple[float, Decision]]:
    """Every course that is open, with its expected cost; the first of equals is taken."""
    best = found.readings[0][0]
    wrong = taken_wrongly(best.meanings, found, state)
    cost = taking_costs(best.meanings, found, state, costs) + costs.begun_anew * begun_anew(best)
    yield cost, Chosen(reading=best, sure=wrong < 1 / costs.wrong_value)
    yield costs.missed * (1 - found.talk - found.unheard / 2), NotForUs()
    speaking_up = costs.intrusion * (found.talk + found.unheard / 2)
    late = costs.late_cure * any(isinstance(m, k.Problem) for m in best.meanings)
    for meaning in best.meanings:
        others = tuple(m for m in best.meanings if m is not meaning)
        risk = taking_costs(others, found, state, costs, but_for=(meaning,)) if others else 0.0
        for offered, doubtful in _questions_about(meaning, best, found, state, asks):
            answerable = sum(
                p for r, p in found.readings if _holds(r, others) and any(m in r.meanings for m in offered)
            )
            yield _asking_costs(answerable, len(offered), found, costs) + risk + speaking_up + late, doubtful
    if (whole := _whole(best)) is not None:
        yield _asking_costs(found.readings[0][1], 1, found, costs) + speaking_up + late, whole
    yield costs.say_again * (1 - found.talk) + speaking_up, Unheard(best=best)


def _asking_costs(answerable: float, offered: int, found: Weighed, costs: Costs) -> float:
    """What a question costs the rescuer, if he spoke, that offers so many readings, one of them right with the
    probability `answerable`."""
    not_caught = costs.yes_not_caught if offered == 1 else costs.choice_not_caught
    ours = 1 - found.talk
    return costs.question * (1 + not_caught) * ours + costs.question_in_vain * (ours - answerable)


def _whole(best: Reading) -> Doubtful | None:
    """All of it to confirm with one yes; None where it holds what a yes cannot put in force."""
    values = tuple(m for m in best.meanings if isinstance(m, _HEARD_OFFERED))
    others = tuple(m for m in best.meanings if m not in values)
    if not values or not all(isinstance(m, (*_HARMLESS, k.Attend)) for m in others):
        return None
    return confirmed_by_one_yes(best, values, others)


def confirmed_by_one_yes(best: Reading, values: tuple[k.Meaning, ...], others: tuple[k.Meaning, ...]) -> Doubtful:
    """The question whether all of it was said: the values (at least one) and what is said beside them."""
    rest = (*values[1:], *others)
    return Doubtful(best=best, about=values[0].kind, choices=values[:1], rest=rest, together=bool(rest))


def taken_wrongly(meanings: tuple[k.Meaning, ...], found: Weighed, state: State) -> float:
    """The probability that one of the values among `meanings` was not said."""
    values = tuple(m for m in meanings if _changes_a_value(m, state))
    return 1 - sum(p for reading, p in found.readings if _holds(reading, values)) if values else 0.0


def taking_costs(
    meanings: tuple[k.Meaning, ...], found: Weighed, state: State, costs: Costs, but_for: tuple[k.Meaning, ...] = ()
) -> float:
    """What taking `meanings` is expected to cost: wrong values, wrong moves, and what was said beside them."""
    wrong = taken_wrongly(meanings, found, state)
    all_right = sum(p for reading, p in found.readings if _holds(reading, meanings))
    more_said = sum(p for r, p in found.readings if _holds(r, meanings) and len(r.meanings) > len(meanings))
    missing = 0.0 if but_for else costs.missed * more_said
    moves = [m for m in meanings if not _changes_a_value(m, state)]
    stepping = state.procedure is not None and all(isinstance(m, k.Step) for m in moves)
    wrong_move = costs.wrong_step if stepping else costs.wrong_move
    if state.question is not None and state.question.all_again:
        wrong_move = costs.wrong_move_again
    return costs.wrong_value * wrong + wrong_move * max(0.0, 1 - all_right - wrong) + missing


def _holds(reading: Reading, meanings: tuple[k.Meaning, ...]) -> bool:
    return all(any(_alike(m, other) for other in reading.meanings) for m in meanings)


def _alike(one: k.Meaning, other: k.Meaning) -> bool:
    """The same; of notes, whatever their words are: they are kept and never acted on."""
    return one == other or (isinstance(one, k.Note) and isinstance(other, k.Note))


def _changes_a_value(m: k.Meaning, state: State) -> bool:
    """An answer does where readings wait to be chosen from; so does a no to nothing: it takes back the last."""
    if not isinstance(m, k.Answer):
        return isinstance(m, _MATTERS)
    pending = state.question
    takes_back = pending is None and state.procedure is None and bool(state.taken) and not m.yes
    return takes_back or (pending is not None and bool(pending.choices))


def _questions_about(
    meaning: k.Meaning, best: Reading, found: Weighed, state: State, asks: str | None
) -> Iterator[tuple[tuple[k.Meaning, ...], Doubtful]]:
    """What can be offered where `meaning` alone is uncertain, as heard, each with the question that offers it: it and
    its likeliest rival, or it alone."""
    rival = _rival_of(meaning, best, found)
    corrects = k.Correction() in best.meanings
    rest = tuple(m for m in best.meanings if m is not meaning)
    for offered in ((meaning,), (meaning, rival)) if rival is not None else ((meaning,),):
        choices = tuple(sense for m in offered if (sense := _as_meant(m, state, asks, corrects=corrects)) is not None)
        if len(choices) == len(offered):
            # One value is one choice, whoever named its owner: "three" and "three litres" are the same flow.
            choices = tuple({_unnamed(choice, state): choice for choice in reversed(choices)}.values())[::-1]
            yield offered, Doubtful(best=best, about=choices[0].kind, choices=choices, rest=rest)


def _rival_of(meaning: k.Meaning, best: Reading, found: Weighed) -> k.Meaning | None:
    """The likeliest other value of the same thing, where all else that was said is the same."""
    others = tuple(m for m in best.meanings if m is not meaning)
    shares: dict[k.Meaning, float] = {}
    for reading, share in found.readings[1:]:
        if len(reading.meanings) == len(best.meanings) and _holds(reading, others):
            for other in reading.meanings:
                if other not in best.meanings and isinstance(other, (*_HEARD_OFFERED, k.BareNumber)):
                    shares[other] = shares.get(other, 0.0) + share
    likeliest = max(shares, key=shares.__getitem__, default=None)
    return likeliest if likeliest is not None and shares[likeliest] >= LEAST_OFFERED else None


def _as_meant(meaning: k.Meaning, state: State, asks: str | None, *, corrects: bool = False) -> k.Meaning | None:
    """The value that a question can name; of a bare number, what it corrects or is the answer to. None where it names
    none."""
    if isinstance(meaning, _HEARD_OFFERED):
        return meaning
    if not isinstance(meaning, k.BareNumber):
        return None
    if corrects and (sense := corrected_by(meaning, state)) is not None:
        return sense
    if state.question is not None and (sense := settled_number(meaning, state.question, state)) is not None:
        return sense
    return number_as(asks, meaning, state) if asks else None
