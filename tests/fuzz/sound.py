"""Plays an hour of sound that is nobody's speech to the ears of a running incident; nothing may be taken.

Usage: python tests/fuzz/sound.py [--minutes 60] [--seed 1] [--engine vosk]. First while a question is open, for which a
"yes" or a number would do, then the same sounds while none is. Exit status 1 where anything was taken, or a WAV file
made an error other than WavError.
"""

from __future__ import annotations

import sys
import tempfile
from argparse import ArgumentParser
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from pathlib import Path
from time import process_time

sys.path.insert(0, str(Path(__file__).parents[2]))

import numpy as np

from assistant import shelf
from assistant.app import kit_from, setting_for
from assistant.dialogue.sense import EVENT_OF_KIND
from assistant.dialogue.turn import Setting, Turn, take_turn
from assistant.hearing.errors import WavError
from assistant.hearing.recogniser import Recogniser, open_recogniser
from assistant.hearing.wav import SAMPLE_RATE_HZ, read_wav
from assistant.incident.events import Withdrawn
from assistant.incident.log import Incident
from assistant.meaning.typed import typed
from tests.fuzz.noises import noises, wav_of_random_bytes

BEFORE = {
    "a question is open": ("small cylinder", "gauge reads 1500", "flow 13"),
    "no question is open": ("small cylinder", "gauge reads 1500", "flow 15"),
}
EVERY_NTH_A_FILE = 10
MOST_TOLD = 12
VALUES = frozenset(EVENT_OF_KIND.values())


@dataclass(slots=True, kw_only=True)
class Played:
    """What came of it, for each kind of sound: seconds, and outcomes; `told` has what was taken, `heard` all others."""

    seconds: dict[str, float] = field(default_factory=lambda: defaultdict(float))
    outcomes: dict[str, Counter[str]] = field(default_factory=lambda: defaultdict(Counter))
    told: list[str] = field(default_factory=list)
    heard: Counter[tuple[str, str]] = field(default_factory=Counter)
    spent_s: float = 0.0
    values: int = 0
    back: int = 0

    @property
    def taken(self) -> int:
        return sum(outcomes["taken"] for outcomes in self.outcomes.values())


def begun(while_: str, setting: Setting) -> Incident:
    """An incident in which a question is open, or none is; nothing of what is heard later is put in force."""
    incident = Incident(setting.kit)
    for at_s, line in enumerate(BEFORE[while_]):
        incident.append(take_turn(incident, typed(line, setting.grammar), float(at_s), setting).events)
    assert (incident.state.question is not None) == (while_ == "a question is open")
    return incident


def played(minutes: float, seed: int, ears: Recogniser, setting: Setting, while_: str = "a question is open") -> Played:
    """What came of so many minutes of sound, each sound heard in the same incident."""
    found, chance, incident = Played(), np.random.default_rng(seed), begun(while_, setting)
    for number, (kind, samples) in enumerate(noises(seed)):
        if number % EVERY_NTH_A_FILE == 0:
            kind, samples = "WAV of random bytes", _through_a_file(chance)
        began = process_time()
        turn = take_turn(incident, ears.hear(samples), 2.0 + number, setting)
        found.spent_s += process_time() - began
        _count(found, kind, len(samples) / SAMPLE_RATE_HZ, turn)
        if sum(found.seconds.values()) >= 60 * minutes:
            return found
    raise AssertionError("noises end never")


def _through_a_file(chance: np.random.Generator) -> np.ndarray:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "random.wav"
        path.write_bytes(wav_of_random_bytes(chance, chance.uniform(3, 20)))
        try:
            return read_wav(path)
        except WavError as error:
            raise AssertionError(f"a whole WAV file was refused: {error}") from error


def _count(found: Played, kind: str, seconds: float, turn: Turn) -> None:
    found.seconds[kind] += seconds
    found.outcomes[kind][turn.outcome] += 1
    found.values += sum(event.kind in VALUES for event in turn.events)
    found.back += sum(isinstance(event, Withdrawn) for event in turn.events)
    if turn.outcome == "taken":
        found.told.append(f"{kind}: taken: {turn.heard!r}: {turn.reply}")
    elif turn.outcome != "ignored":
        found.heard[turn.outcome, turn.heard] += 1


def main() -> int:
    """The totals, kind by kind."""
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--engine", choices=["vosk", "pocketsphinx"], default="vosk")
    args = parser.parse_args()
    setting = setting_for(kit_from(None))
    ears = open_recogniser(args.engine, setting.grammar, pronunciations=shelf.pronunciations(), notice=print)
    every = [_told(while_, played(args.minutes, args.seed, ears, setting, while_), args.engine) for while_ in BEFORE]
    return 1 if any(found.taken for found in every) else 0


def _told(while_: str, found: Played, engine: str) -> Played:
    """Prints one run: by kind of sound, what was taken and what set off a question, and the totals."""
    print(f"while {while_}")
    for kind, seconds in sorted(found.seconds.items()):
        outcomes = ", ".join(f"{name} {count}" for name, count in sorted(found.outcomes[kind].items()))
        print(f"    {kind}: {seconds / 60:.1f} min: {outcomes}")
    for told in found.told:
        print(f"    {told}")
    for outcome in dict.fromkeys(outcome for outcome, _ in found.heard):
        most = [(heard, count) for (one, heard), count in found.heard.most_common() if one == outcome][:MOST_TOLD]
        print(f"    {outcome}, heard as: " + ", ".join(f"{heard!r} {count}" for heard, count in most))
    seconds = sum(found.seconds.values())
    counts = sum(found.outcomes.values(), Counter[str]())
    print(
        f"{engine}, {while_}: {seconds / 60:.1f} min of sound, {sum(counts.values())} utterances: "
        f"taken {found.taken} (values put in force: {found.values}, taken back: {found.back}), "
        f"asked {counts['asked']}, refused {counts['refused']}, ignored {counts['ignored']}; "
        f"{found.spent_s / seconds:.3f} of real time",
        flush=True,
    )
    return found


if __name__ == "__main__":
    sys.exit(main())
