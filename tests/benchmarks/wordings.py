"""How much of what people say in their own words is understood: 300 typed sentences that nobody widened the grammar by.

usage: python tests/benchmarks/wordings.py [FILE.toml]
       python tests/benchmarks/wordings.py --aloud
       python tests/benchmarks/wordings.py --overheard

Each is typed into an incident that runs; a question with readings to choose from is answered with yes once. Beside it
the same with nothing but whole sentences of the grammar. FILE has the form of speech/phrasings_learning.toml. Aloud,
the 300 are said in quiet by the scoring voices, heard by the assistant's ears, and a question is answered once.
Overheard: of how much talk that is for others, of both sets, a value is asked for because a second model wrote it down.
"""

from __future__ import annotations

import random
import sys
from collections import Counter
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

SPEECH = Path(__file__).resolve().parent / "speech"
sys.path.insert(0, str(SPEECH))

import places  # noqa: F401  (first: it makes the repository importable)
from corpora import SET_VOICES, SETS, commands, filled, human, meaning_of, read_aloud, seed_of, talk
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

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

BEFORE = ("gauge reads 2100", "small cylinder", "cannula at four")
OUTCOMES = ("right at once", "right after one yes", "left alone", "something else")


def outcomes(phrasings: list[dict[str, Any]], setting: Setting) -> Iterator[tuple[str, bool]]:
    """For each sentence one of OUTCOMES, and whether it is a sentence of the grammar with the meaning meant."""
    for place, phrasing in enumerate(phrasings):
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


def main(file: Path) -> None:
    phrasings = tomllib.loads(file.read_text(encoding="utf-8"))["phrasing"]
    found = list(outcomes(phrasings, default_setting()))
    count = Counter(outcome for outcome, _ in found)
    covered = sum(covered for _, covered in found)
    print(f"{len(found)} sentences typed; as whole sentences of the grammar: {percent(covered, found)}")
    print("; ".join(f"{outcome} {percent(count[outcome], found)}" for outcome in OUTCOMES))


def aloud(condition: str = "quiet") -> None:
    """The same sentences said by voices that nothing was tuned on."""
    bench = Bench("graph+turn", "scoring", default_setting(), options_from([]))
    items = list(commands("unseen", 1, SET_VOICES["scoring"]))
    speak("scoring", items, [condition])
    verdicts = Counter(result.verdict for result in bench.commands(items, condition))
    left = ("missed", "asked_open")
    wrong = sum(count for verdict, count in verdicts.items() if verdict not in ("right", "asked_right", *left))
    counts = (verdicts["right"], verdicts["asked_right"], sum(verdicts[each] for each in left), wrong)
    outcomes_aloud = ("right at once", "right after one question", *OUTCOMES[2:])
    print(f"{len(items)} sentences said aloud, {condition}")
    print("; ".join(f"{name} {percent(count, items)}" for name, count in zip(outcomes_aloud, counts, strict=True)))


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


if __name__ == "__main__":
    if sys.argv[1:] == ["--aloud"]:
        aloud()
    elif sys.argv[1:] == ["--overheard"]:
        overheard()
    else:
        main(Path(sys.argv[1]) if len(sys.argv) > 1 else SPEECH / "phrasings_unseen.toml")
