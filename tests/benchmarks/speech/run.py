"""The speech benchmark: what is heard and decided, by voice, condition and engine.

usage: python tests/benchmarks/speech/run.py [--set tuning|scoring] [--each N] [--ways graph+turn,...] ...

`--full` plays everything; the default is a small run of a few minutes. What was synthesised and heard is kept in the
user's cache, so that a second run, after a change in the decision alone, takes seconds. `--help` lists the options.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

import places  # noqa: F401  (first: it makes the repository and the voices importable)
from conditions import CONDITIONS
from corpora import SET_VOICES, SETS, Item, commands, human, read_aloud, talk
from ears import Memory
from incidents import Heard, default_setting, fresh, running
from played import audio_id, noises, played, seconds_of, speak
from report import (
    Result,
    answer_summaries,
    command_summaries,
    detail_lines,
    json_lines,
    table,
    talk_summaries,
)
from scoring import CONTROL, fits, verdict, wrong_value
from turns import DECIDERS, Outcome, answer_to, asked_about

from assistant.dialogue.turn import Setting
from assistant.meaning.contract import to_json
from assistant.meaning.typed import typed
from assistant.meaning.understand import understand
from assistant.utterance import Utterance

ABLATION = (
    "free+plain", "words+plain", "phrases+plain", "graph+plain", "alone+turn", "graph+turn", "pocketsphinx+plain"
)  # fmt: skip
TALK_CONDITIONS = ("quiet", "radio15")
NOISE_CLIPS = 20
OWN_EARS = ("graph+", "alone+")
COMPARED_IN = ("quiet", "pink10", "babble10")
TALK_DRAWS = 6  # brings the other talk above an hour
CHOICE = {"kind": "gauge_reading", "cylinder": "1", "pressure": {"value": 1200, "unit": "psi"}}


PAGE = """# What is heard, and what is taken

Written by

    {command}

on the {which} voices and phrasings. Nothing was fitted on the scoring ones. Shares are percent with their 95 % Wilson
interval. `graph+turn` is the assistant, `alone+turn` the same without its second model; the other rows take the best
hypothesis at its word, with the grammar's sentence graph, vosk's own model, a list of words or of phrases, or the
fallback's grammar, all through the same parser; those compared heard less (see n). A question is answered once, by the
same voice in the same place: yes, "the first one" or "the second one" where it offers what was said, else the bare
value. How a decision is made is in [decision.md](decision.md).

{tables}
"""


class Bench:
    """One way (ears and decider) applied to items of one set."""

    def __init__(self, way: str, which: str, setting: Setting, options: argparse.Namespace) -> None:
        ears, decider = way.split("+")
        self.way, self.which, self.setting = way, which, setting
        known = {"model": options.model, "stale": options.stale, "rated": ears != "alone"}
        self.memory = Memory("graph" if ears == "alone" else ears, setting.grammar, **known)
        own = way in ("graph+turn", "alone+turn")
        self.answering = Memory("answering", setting.grammar, **known) if own else self.memory
        self.behind = Memory("background", setting.grammar, **known) if options.background else None
        self.decide = DECIDERS[decider]
        self.answers = decider != "plain"
        self.addressed: bool = options.addressed
        self.invited: bool = options.answers == "invited"
        self._covered: dict[str, bool] = {}
        self.situation: Callable[[Item, Setting], Heard] = (
            running if options.context == "running" else lambda item, setting: fresh(setting)
        )

    def hear(self, item: Item, condition: str, *, asked: bool = False) -> Utterance:
        """The utterance; while a question is open, `asked`, the assistant listens for an answer."""
        audio = audio_id(item, condition)
        memory = self.answering if asked else self.memory
        utterance = memory.hear(audio, lambda: played(self.which, item, condition))
        utterance = replace(utterance, addressed=self.addressed)
        if self.behind is None:
            return utterance
        free = self.behind.hear(audio, lambda: played(self.which, item, condition))
        return replace(utterance, background=free.hypotheses[0] if free.hypotheses else None)

    def commands(self, items: Sequence[Item], condition: str) -> Iterator[Result]:
        """Decides every item; the questions that come are then answered, all their answers spoken in one go."""
        asked: list[tuple[Item, Item, Outcome, str]] = []
        for item in items:
            utterance = self.hear(item, condition)
            outcome = self.decide(utterance, self.situation(item, self.setting), self.setting)
            word = verdict(item.means, outcome.outcome, outcome.understood)
            if word == "asked" and self.answers:
                answer = answer_to(outcome, item, fits, invited=self.invited)
                asked.append((item, answer, outcome, utterance.best.text))
            else:
                yield self.result(item, condition, word, outcome, utterance.best.text)
        speak(self.which, [answer for _, answer, _, _ in asked], [condition])
        for item, answer, outcome, first in asked:
            yield self.answered(item, answer, condition, outcome, first)

    def answered(self, item: Item, answer: Item, condition: str, outcome: Outcome, first: str) -> Result:
        assert outcome.after is not None
        utterance = self.hear(answer, condition, asked=outcome.after.incident.state.question is not None)
        then = self.decide(utterance, outcome.after, self.setting)
        word = verdict(item.means, then.outcome, then.understood)
        verdicts = {"right": "asked_right", "wrong": "asked_wrong"}
        heard = f"{first} || {outcome.reply} || {utterance.best.text}"
        return self.result(item, condition, verdicts.get(word, "asked_open"), then, heard)

    def result(self, item: Item, condition: str, word: str, outcome: Outcome, heard: str) -> Result:
        return Result(
            way=self.way,
            condition=condition,
            kind=item.kind,
            name=item.name,
            speaker=item.clip.speaker,
            human=item.human,
            words=item.clip.words,
            heard=heard,
            verdict=word,
            covered=item.kind != "command" or self.covers(item),
            seconds=seconds_of(item),
            wrong_value=word in ("wrong", "asked_wrong") and wrong_value(item.means, outcome.understood),
            detail=f"{outcome.outcome} {list(outcome.understood)} {outcome.reply}",
            decided_s=outcome.seconds,
        )

    def covers(self, item: Item) -> bool:
        """Whether the grammar has the sentence, with the meaning it is meant to have."""
        if item.name not in self._covered:
            readings = understand(typed(item.clip.words, self.setting.grammar), self.setting.grammar, self.setting.kit)
            best = [to_json(meaning) for meaning in readings[0].meanings] if readings else []
            self._covered[item.name] = bool(best) and verdict(item.means, "taken", best) == "right"
        return self._covered[item.name]

    def talk(self, items: Iterable[Item], condition: str) -> Iterator[Result]:
        """Whether speech that is not for the assistant, or noise, came to anything."""
        for item in items:
            utterance = self.hear(item, condition)
            outcome = self.decide(utterance, running(item, self.setting), self.setting)
            yield self.result(item, condition, outcome.outcome, outcome, utterance.best.text)

    def bare_answers(self, items: Iterable[Item], condition: str) -> Iterator[Result]:
        """People's numbers and words, as answers to a question about the gauge."""
        for item in items:
            choices = [CHOICE] if item.kind == "word" else []
            heard = asked_about(running(item, self.setting), "gauge_reading", choices, self.setting)
            utterance = self.hear(item, condition, asked=True)
            outcome = self.decide(utterance, heard, self.setting)
            judge = judged_word if item.kind == "word" else judged_number
            yield self.result(item, condition, judge(item, outcome), outcome, utterance.best.text)


def judged_number(item: Item, outcome: Outcome) -> str:
    """right: taken for a reading that it may be, or rightly left alone where it is none."""
    if outcome.outcome != "taken":
        return "right" if not item.allowed else "asked_open" if outcome.outcome == "asked" else "missed"
    values = {m["pressure"]["value"] for m in outcome.understood if m["kind"] == "gauge_reading"}
    others = [m for m in outcome.understood if m["kind"] != "gauge_reading"]
    return "right" if values and values <= item.allowed and not others else "wrong"


def judged_word(item: Item, outcome: Outcome) -> str:
    """right: yes takes the reading that was offered, no takes none, repeat and stop are that step; of other words,
    nothing but the question again may come."""
    takes = outcome.outcome == "taken" and any(m["kind"] not in CONTROL for m in outcome.understood)
    if item.clip.words == "yes":
        return "right" if takes else "missed"
    if takes:
        return "wrong"
    if item.clip.words in ("repeat", "stop"):
        steps = [m["move"] for m in outcome.understood if m["kind"] == "step"]
        return "right" if steps == [item.clip.words] else "missed"
    return "missed" if item.clip.words == "no" and outcome.outcome == "ignored" else "right"


def options_from(arguments: Sequence[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--set", dest="which", choices=SETS, default="tuning", help="which voices and phrasings")
    parser.add_argument("--each", type=int, default=1, metavar="N", help="voices for each phrasing (default 1)")
    parser.add_argument("--every", type=int, default=1, metavar="N", help="only every Nth command, for a short run")
    parser.add_argument("--voices", default="", help="only these voices, by comma")
    parser.add_argument("--conditions", default=",".join(CONDITIONS), help="by comma; default: all")
    parser.add_argument("--ways", default="graph+turn", help="EARS+DECIDER by comma; 'all' is the ablation")
    parser.add_argument("--talk", type=int, default=0, metavar="N", help="play the other talk with N draws of numbers")
    parser.add_argument("--people", action="store_true", help="play the people's bare answers")
    parser.add_argument("--context", choices=("running", "fresh"), default="running", help="what is known before")
    parser.add_argument(
        "--answers", choices=("invited", "value"), default="invited", help="which of two: by its place, or its value"
    )
    parser.add_argument("--addressed", action="store_true", help="as if a key were held: other talk is then unlikely")
    parser.add_argument("--background", action="store_true", help="give the decision a free decoding too")
    parser.add_argument("--stale", action="store_true", help="use what older ears heard too; not to report")
    parser.add_argument("--full", action="store_true", help="all voices and over an hour of talk, and the ablation")
    parser.add_argument("--model", type=Path, help="a vosk model folder")
    parser.add_argument("--json", action="store_true", help="JSON lines in place of tables")
    parser.add_argument("--write", type=Path, metavar="FILE.md", help="also write the tables there, as a page")
    parser.add_argument("--details", type=Path, metavar="FILE", help="also write each result there, as JSON lines")
    options = parser.parse_args(arguments)
    if options.full or options.ways == "all":
        options.ways = ",".join(ABLATION)
    return options


def options_of(way: str, options: argparse.Namespace) -> argparse.Namespace:
    """What is played to one way: the assistant's own ears hear everything, those compared with them less."""
    own = way.startswith(OWN_EARS)
    if options.full:
        each, draws = (len(SET_VOICES[options.which]), TALK_DRAWS) if own else (1, 1)
        return argparse.Namespace(**{**vars(options), "each": each, "talk": draws, "people": True})
    if own and not way.endswith("+turn"):
        return argparse.Namespace(**{**vars(options), "talk": 0, "people": False})
    if own or not options.write:
        return options
    fewer = {"every": 2 * options.every, "conditions": ",".join(COMPARED_IN), "talk": 0, "people": False}
    return argparse.Namespace(**{**vars(options), **fewer})


def results_of(bench: Bench, options: argparse.Namespace) -> Iterator[Result]:
    """Everything that the options ask of one way, in order: commands by condition, talk and noise, people's answers."""
    voices = [voice for voice in options.voices.split(",") if voice]
    names = options.conditions.split(",")
    items = list(commands(bench.which, options.each, voices))[:: options.every]
    speak(bench.which, items, names)
    for name in names:
        yield from bench.commands(items, name)
    people = list(human(bench.which)) if options.people or options.talk else []
    if options.talk:
        others = [*talk(bench.which, options.talk, voices), *read_aloud(bench.which)]
        others += [item for item in people if item.kind == "talk"]
        speak(bench.which, others, TALK_CONDITIONS)
        for name in (name for name in TALK_CONDITIONS if name in names):
            yield from bench.talk(others, name)
        for name in names:
            yield from bench.talk(noises(NOISE_CLIPS), name)
    if options.people:
        for name in names:
            yield from bench.bare_answers([item for item in people if item.kind != "talk"], name)


def tables_of(results: Sequence[Result]) -> dict[str, list[dict[str, object]]]:
    """Every table's rows by its title."""
    return {
        "Commands": command_summaries(results, covered_only=False),
        "Commands whose wording the grammar has": command_summaries(results, covered_only=True),
        "Talk that is not for the assistant, and noise": talk_summaries(results),
        "People's bare answers": answer_summaries(results),
    }


def as_markdown(results: Sequence[Result]) -> str:
    """The tables under their titles, and how long deciding took."""
    parts = [f"### {title}\n\n{table(rows)}" for title, rows in tables_of(results).items() if rows]
    decided = sorted(result.decided_s for result in results if result.decided_s)
    if decided:
        mean_ms, worst_ms = 1e3 * sum(decided) / len(decided), 1e3 * decided[len(decided) * 95 // 100]
        parts.append(f"A turn, all but the hearing: {mean_ms:.1f} ms in the mean, 19 of 20 in {worst_ms:.1f} ms.")
    return "\n\n".join(parts)


def show(results: Sequence[Result], *, as_json: bool) -> None:
    """The tables, or their rows as JSON lines."""
    if not as_json:
        print(as_markdown(results))
        return
    for title, rows in tables_of(results).items():
        print("\n".join(json_lines({"table": title, **row} for row in rows)))


def page(results: Sequence[Result], arguments: Sequence[str], which: str) -> str:
    """The tables as a page that says how to print them again."""
    command = " ".join(["python tests/benchmarks/speech/run.py", *arguments])
    command += "\n\n(--stale: some of it was heard with a slightly older grammar)" if "--stale" in arguments else ""
    return PAGE.format(command=command, which=which, tables=as_markdown(results))


def main(arguments: Sequence[str]) -> None:
    options = options_from(arguments)
    setting = default_setting()
    results: list[Result] = []
    for way in options.ways.split(","):
        bench = Bench(way, options.which, setting, options)
        results += results_of(bench, options_of(way, options))
        print(f"{way}: {bench.memory.heard_new} heard anew", file=sys.stderr)
    show(results, as_json=options.json)
    if options.write:
        options.write.write_text(page(results, arguments, options.which), encoding="utf-8")
    if options.details:
        options.details.write_text("".join(f"{line}\n" for line in detail_lines(results)), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
