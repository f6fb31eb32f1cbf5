"""The two deciders that are compared: `decide(utterance, heard) -> Outcome`.

plain takes the best hypothesis for what was said, where it parses. turn is the assistant's own: it weighs the rival
hypotheses, and its question is answered once, as it invites to, by the same speaker in the same place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from time import perf_counter
from typing import Any

from corpora import Item, spoken_clip
from incidents import Heard

from assistant.dialogue.asking import FIRST_OR_SECOND, SAY_AGAIN
from assistant.dialogue.turn import Setting, take_turn
from assistant.incident.events import QuestionAsked
from assistant.incident.log import Incident
from assistant.meaning.contract import to_json
from assistant.meaning.understand import understand
from assistant.utterance import Utterance

Meanings = tuple[dict[str, Any], ...]
ANSWER_AFTER_S = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What came of an utterance: the contract's `outcome`, `understood` and `asked`, and the incident after it."""

    outcome: str
    understood: Meanings = ()
    about: str = ""
    choices: Meanings = ()
    reply: str = ""
    after: Heard | None = None
    seconds: float = 0.0


def plain(utterance: Utterance, heard: Heard, setting: Setting) -> Outcome:
    """The best hypothesis, at its word; a bare number, which says nothing by itself, is left alone."""
    best = replace(utterance, hypotheses=utterance.hypotheses[:1])
    readings = understand(best, setting.grammar, setting.kit)
    meanings = tuple(to_json(meaning) for meaning in readings[0].meanings) if readings else ()
    if not meanings or all(meaning["kind"] == "number" for meaning in meanings):
        return Outcome(outcome="ignored")
    return Outcome(outcome="taken", understood=meanings)


def turn(utterance: Utterance, heard: Heard, setting: Setting) -> Outcome:
    """The assistant's own turn."""
    began = perf_counter()
    taken = take_turn(heard.incident, utterance, heard.at_s, setting)
    seconds = perf_counter() - began
    after = Incident(setting.kit, [*heard.incident.events, *taken.events])
    return Outcome(
        outcome=taken.outcome,
        understood=tuple(to_json(meaning) for meaning in taken.understood),
        about=taken.asked.about if taken.asked else "",
        choices=tuple(taken.asked.choices) if taken.asked else (),
        reply=taken.reply,
        after=Heard(incident=after, at_s=heard.at_s + ANSWER_AFTER_S),
        seconds=seconds,
    )


DECIDERS = {"plain": plain, "turn": turn}


def answer_to(outcome: Outcome, item: Item, fits: Any, *, invited: bool = True) -> Item:
    """What the speaker says to the question: yes where the one reading offered is right, "the second one" where that
    one of two is (not `invited`: the value itself), else the bare right value, else the sentence again."""
    words = item.clip.words
    if SAY_AGAIN in outcome.reply:
        again = f"again-{item.name}"
        return replace(item, name=again, clip=spoken_clip(words, item.clip.speaker, again))
    wanted = next((m for m in item.means if outcome.about in (m["kind"], m.get("sign"))), None)
    offered = [place for place, choice in enumerate(outcome.choices) if any(fits(m, choice) for m in item.means)]
    if len(outcome.choices) == 1 and offered:
        words = "yes"
    elif invited and FIRST_OR_SECOND in outcome.reply and offered:
        words = ("the first one", "the second one")[offered[0]]
    elif wanted is not None:
        words = _bare(wanted, item) or words
    name = f"answer-{item.name}-{words}"
    return replace(item, name=name, clip=spoken_clip(words, item.clip.speaker, name))


def _bare(wanted: dict[str, Any], item: Item) -> str:
    """The number words of a meaning, with a unit where it is not the kit's; "" where it holds no number."""
    measure = wanted.get("pressure") or wanted.get("flow") or {"value": wanted.get("value", wanted.get("minutes"))}
    words = item.spoken.get(measure["value"], "")
    unit = {"bar": " bar", "MPa": " megapascals"}.get(measure.get("unit", ""), "")
    return words + unit if words else ""


def asked_about(heard: Heard, about: str, choices: Sequence[dict[str, Any]], setting: Setting) -> Heard:
    """The incident with a question pending: what a bare answer answers."""
    question = QuestionAsked(at_s=heard.at_s - 3, about=about, choices=tuple(choices))
    return replace(heard, incident=Incident(setting.kit, [*heard.incident.events, question]))
