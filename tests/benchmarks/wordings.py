"""How much of what people say in their own words is understood: sentences that nobody widened the grammar by.

usage: python tests/benchmarks/wordings.py [unseen|plain]
       python tests/benchmarks/wordings.py --aloud [unseen|plain] [CONDITION]
       python tests/benchmarks/wordings.py --overheard

unseen: 300 sentences, many of them long and chatty; plain: 200 short ones. Each is typed into an incident that runs; a
question with readings to choose from is answered with yes once. Beside it the same with nothing but whole sentences of
the grammar. Aloud, they are said (in quiet, if no place of the speech benchmark is named) by the scoring voices, heard
by the assistant's ears, and a question is answered once. What several people say alike was partly written before: a
second line is of the rest, the sentences that the grammar was neither widened nor tuned by. Overheard: of how much talk
that is for others, of both sets, something comes because a second model wrote it down.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

SPEECH = Path(__file__).resolve().parent / "speech"
sys.path.insert(0, str(SPEECH))

import places  # noqa: F401  (first: it makes the repository importable)
from conditions import CONDITIONS
from corpora import SET_VOICES, SETS, commands, filled, human, meaning_of, phrasings, read_aloud, seed_of, talk
from ears import Memory
from incidents import default_setting
from played import audio_id, played, speak
from run import TALK_CONDITIONS, Bench, options_from
from scoring import verdict

from assistant.dialogue.decide import Doubtful
from assistant.dialogue.overheard import answered_overheard, values_overheard
from assistant.dialogue.turn import Setting, take_turn
from assistant.incident.log import Incident
from assistant.meaning.contract import to_json
from assistant.meaning.typed import typed
from assistant.meaning.understand import understand, understood_freely

BEFORE = ("gauge reads 2100", "small cylinder", "cannula at four")
WRITTEN = ("unseen", "plain")
OUTCOMES = ("right at once", "right after one yes", "left alone", "something else")


def outcomes(written: list[dict[str, Any]], setting: Setting) -> Iterator[tuple[str, bool]]:
    """For each sentence one of OUTCOMES, and whether it is a sentence of the grammar with the meaning meant."""
    for place, phrasing in enumerate(written):
        words, slots = filled(phrasing["say"], random.Random(seed_of("unseen", place)))
        means = tuple(meaning_of(meaning, slots) for meaning in phrasing["means"])
        incident = Incident(setting.kit)
        for at, line in enumerate(BEFORE):
            incident.append(take_turn(incident, typed(line, setting.grammar), 10.0 * at, setting).events)
        utterance = typed(words, setting.grammar)
        whole = understand(utterance, setting.grammar, setting.kit)
        covered = bool(whole) and verdict(means, "taken", [to_json(m) for m in whole[0].meanings]) == "right"
        turn = take_turn(incident, utterance, 60.0, setting)
        offered = turn.outcome == "asked" and turn.asked is not None and bool(turn.asked.choices)
        if offered:
            incident.append(turn.events)
            turn = take_turn(incident, typed("yes", setting.grammar), 64.0, setting)
        word = verdict(means, turn.outcome, [to_json(m) for m in turn.understood])
        if word == "right":
            yield OUTCOMES[1 if offered else 0], covered
        else:
            yield OUTCOMES[2 if turn.outcome in ("ignored", "refused", "asked") else 3], covered


def typed_in(written: str) -> None:
    """The sentences of phrasings_`written`.toml, typed."""
    found = list(outcomes(phrasings(written), default_setting()))
    said = [outcome for outcome, _ in found]
    covered = sum(covered for _, covered in found)
    print(f"{len(found)} sentences typed; as whole sentences of the grammar: {percent(covered, found)}")
    show(written, said, OUTCOMES)


def show(written: str, said: list[str], names: tuple[str, ...]) -> None:
    """The share of each outcome: of all sentences, then of those that nobody wrote before."""
    before = {phrasing["say"] for which in ("learning", "tuning") for phrasing in phrasings(which)}
    new = [phrasing["say"] not in before for phrasing in phrasings(written)]
    rest = [one for one, is_new in zip(said, new, strict=True) if is_new]
    for title, ones in (("all", said), (f"the {len(rest)} that nobody wrote before", rest)):
        print(f"{title}: " + "; ".join(f"{name} {percent(ones.count(name), ones)}" for name in names))


def aloud(written: str, condition: str) -> None:
    """The same sentences said by voices that nothing was tuned on."""
    bench = Bench("graph+turn", "scoring", default_setting(), options_from([]))
    items = list(commands(written, 1, SET_VOICES["scoring"]))
    speak("scoring", items, [condition])
    names = ("right at once", "right after one question", *OUTCOMES[2:])
    column = {"right": 0, "asked_right": 1, "missed": 2, "asked_open": 2}
    found = {result.name: names[column.get(result.verdict, 3)] for result in bench.commands(items, condition)}
    print(f"{len(items)} sentences said aloud, {condition}")
    show(written, [found[item.name] for item in items], names)


def overheard() -> None:
    """Other people's talk, in quiet and by radio: what of it would be asked for, were it left alone otherwise."""
    setting = default_setting()
    memory = Memory("graph", setting.grammar)
    for which in SETS:
        others = [*talk(which, 1), *read_aloud(which), *(item for item in human(which) if item.kind == "talk")]
        speak(which, others, TALK_CONDITIONS)
        for condition in TALK_CONDITIONS:
            asked = 0
            for item in others:
                utterance = memory.hear(audio_id(item, condition), partial(played, which, item, condition))
                readings = understood_freely(utterance, setting.grammar, setting.kit)
                asked += isinstance(values_overheard(readings), Doubtful) or answered_overheard(readings)
            print(f"{which}, {condition}: {asked} of {len(others)} pieces of talk asked about in other words")


def percent(part: int, found: list[Any]) -> str:
    return f"{100 * part / len(found):.1f} %"


def main(arguments: list[str]) -> None:
    named = [word for word in arguments if word in WRITTEN]
    where = [word for word in arguments if word in CONDITIONS]
    flags = [word for word in arguments if word not in (*named, *where)]
    if len(named) > 1 or len(where) > 1 or flags not in ([], ["--aloud"], ["--overheard"]):
        raise SystemExit(__doc__)
    written = named[0] if named else WRITTEN[0]
    if flags == ["--aloud"]:
        aloud(written, where[0] if where else "quiet")
    elif flags == ["--overheard"]:
        overheard()
    else:
        typed_in(written)


if __name__ == "__main__":
    main(sys.argv[1:])
