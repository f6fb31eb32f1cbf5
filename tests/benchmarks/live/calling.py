"""The call word: how often it is heard where it was said, and how often an hour where it was not.

usage: python tests/benchmarks/live/calling.py [--set tuning|scoring] [--conditions quiet,pink10,wind5] [--every N]

Said: every Nth command of the set after the call word, in one breath, and the call word alone in every voice. Not said:
the set's other talk (synthetic conversation, people's recordings, novels read aloud), one piece after another with
half a second between them. Both go through the live endpointing in pieces of 20 ms. The call word is the default one.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "speech"))

import numpy as np
import numpy.typing as npt
import places  # noqa: F401  (first: it makes the repository and the voices importable)
from conditions import CONDITIONS, RATE_HZ, in_condition
from corpora import SET_VOICES, SETS, Item, commands, human, read_aloud, seed_of, spoken_clip, talk
from incidents import default_setting
from played import speak

from assistant.hearing.call_word import CalledGrammar, called
from assistant.hearing.ending import ending_for
from assistant.hearing.endpointing import Endpointer
from assistant.hearing.find_model import vosk_model
from assistant.hearing.vosk_ears import VoskRecogniser
from assistant.hearing.wav import read_wav
from assistant.settings import CALL_WORD
from assistant.utterance import Utterance

PIECE = RATE_HZ // 50
CALL = tuple(CALL_WORD.split())
BEFORE_S, BETWEEN_S, AFTER_S = 1.0, 0.5, 1.5
HOUR_S = 3600.0

Samples = npt.NDArray[np.float32]


def calling(which: str, every: int) -> list[Item]:
    """Commands after the call word, and the call word alone."""
    found = []
    for item in list(commands(which, 1))[::every]:
        name = f"called-{item.name}"
        clip = spoken_clip(f"{CALL_WORD} {item.clip.words}", item.clip.speaker, name)
        found.append(replace(item, name=name, clip=clip))
    for voice in SET_VOICES[which]:
        name = f"called-alone-{voice}"
        found.append(Item(kind="word", name=name, clip=spoken_clip(CALL_WORD, voice, name)))
    return found


def sounding(item: Item, condition: str) -> Samples:
    """The item with quiet before and after it, in the condition."""
    speech = read_wav(item.clip.path).astype(np.float64)
    quiet = (np.zeros(round(seconds * RATE_HZ)) for seconds in (BEFORE_S, AFTER_S))
    before, after = quiet
    return in_condition(np.concatenate([before, speech, after]), CONDITIONS[condition], seed_of(item.name), [])


def utterances(endpointer: Endpointer, samples: Iterable[Samples]) -> Iterator[Utterance]:
    for sound in samples:
        for at in range(0, len(sound), PIECE):
            utterance = endpointer.accept(sound[at : at + PIECE])
            if utterance is not None and utterance.hypotheses:
                yield utterance


def hits(endpointer: Endpointer, items: Sequence[Item], condition: str) -> None:
    """Prints how many were called, and which were not."""
    missed = []
    for item in items:
        heard = list(utterances(endpointer, [sounding(item, condition)]))
        endpointer.drop()
        if not any(called(each, CALL) is not None for each in heard):
            missed.append(f"{item.clip.speaker}: {item.clip.words} -> {' | '.join(each.best.text for each in heard)}")
    share = 100 * (1 - len(missed) / len(items))
    print(f"| {condition} | {len(items)} | {share:.1f} % |", flush=True)
    for line in missed:
        print(f"  not called: {line}", file=sys.stderr)


def false_alarms(endpointer: Endpointer, kind: str, items: Sequence[Item]) -> None:
    """Prints how often talk called, by the hour."""
    room = np.random.default_rng(3).standard_normal(round(BETWEEN_S * RATE_HZ)).astype(np.float32) * 3e-4
    sounds = [read_wav(item.clip.path) for item in items]
    seconds = sum(len(each) for each in sounds) / RATE_HZ
    heard = list(utterances(endpointer, (part for sound in sounds for part in (sound, room))))
    alarms = [each.best.text for each in heard if called(each, CALL) is not None]
    rate = f"{len(alarms) * HOUR_S / seconds:.1f}" if seconds else "-"
    print(f"| {kind} | {seconds / 60:.1f} min | {len(heard)} | {len(alarms)} | {rate} |", flush=True)
    for text in alarms:
        print(f"  called by: {text}", file=sys.stderr)


def main(arguments: Sequence[str]) -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--set", dest="which", choices=SETS, default="tuning")
    parser.add_argument("--conditions", default="quiet,pink10,wind5")
    parser.add_argument("--every", type=int, default=3, help="only every Nth command")
    options = parser.parse_args(arguments)
    setting = default_setting()
    ears = VoskRecogniser.opened(CalledGrammar(setting.grammar, CALL), vosk_model())
    needed_s, first_s = ending_for(setting.grammar, ears.name)

    def after_call(words: tuple[str, ...]) -> float:
        return needed_s(words[len(CALL) :] if words[: len(CALL)] == CALL else words)

    endpointer = Endpointer(ears, after_call, first_s=first_s)
    said = calling(options.which, options.every)
    unsaid = list(talk(options.which, 1))
    speak(options.which, [*said, *unsaid], options.conditions.split(","))
    print(f'Called by "{CALL_WORD}":\n\n| condition | said | heard |\n| --- | --- | --- |')
    for condition in options.conditions.split(","):
        hits(endpointer, said, condition)
    print("\n| talk without it | length | utterances | called | an hour |\n| --- | --- | --- | --- | --- |")
    people = [item for item in human(options.which) if item.kind == "talk"]
    kinds = {"conversation, synthetic": unsaid, "people": people, "read aloud": list(read_aloud(options.which))}
    for kind, items in kinds.items():
        false_alarms(endpointer, kind, items)


if __name__ == "__main__":
    main(sys.argv[1:])
