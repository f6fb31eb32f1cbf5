"""How soon after the last word an utterance is given out and decided, and how many are cut short.

usage: python tests/benchmarks/live/endpointing.py [--set tuning|scoring] [--every N] [--conditions quiet,pink20]
           [--keep FILE]

With --keep it can be stopped and begun again, so that a long run takes the machine for itself for a few minutes at a
time: what the file holds is not measured again, and the table is of all that it holds.

Every command is played in pieces of 20 ms as a microphone gives them, beside the recogniser's own endpointing on the
same pieces. The clock is simulated: a piece is there when its last sample was spoken, and work takes the processor
time measured for it, so that other programs on the machine do not count. The end of the last word is the last 10 ms of
the clean recording within 40 dB of its loudest. Cut short: given out before that end, or with fewer words than the
whole recording has to the same ears. What is heard as no words of ours at all, as gusts before the command, is not it.
"""

from __future__ import annotations

import argparse
import json
import random
import re
import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "speech"))

import numpy as np
import numpy.typing as npt
import places  # noqa: F401  (first: it makes the repository and the voices importable)
from conditions import CONDITIONS, LEAD_S, RATE_HZ, in_condition
from corpora import SETS, Item, commands, seed_of
from incidents import default_setting, running
from played import speak

from assistant.dialogue.turn import Setting, take_turn
from assistant.hearing.ending import ending_for
from assistant.hearing.endpointing import Endpointer
from assistant.hearing.find_model import vosk_model
from assistant.hearing.graph import derived_model
from assistant.hearing.pcm import as_pcm
from assistant.hearing.rating.ears import RatedEars, shared_model
from assistant.hearing.recogniser import UNKNOWN
from assistant.hearing.vosk_ears import VoskRecogniser, loaded
from assistant.hearing.wav import read_wav
from assistant.utterance import Hypothesis, Utterance

PIECE = RATE_HZ // 50
BEFORE_S, AFTER_S = 1.0, 2.5
WITHIN_DB = 40.0
# An utterance is not cut by ending within the last sound itself, which fades.
FADING_S = 0.03

Samples = npt.NDArray[np.float32]


class AtOnce(Executor):
    """Runs in the caller's thread, whose processor time is counted."""

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        done: Future[Any] = Future()
        done.set_result(fn(*args, **kwargs))
        return done


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """A command as the microphone hears it; `ends_s` is when its last word ends."""

    item: Item
    samples: Samples
    ends_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Ended:
    """When an utterance was decided, seconds from the end of the last word; what it was."""

    delay_s: float
    words: tuple[str, ...]
    cut: bool


def clean_end_s(speech: npt.NDArray[np.floating[Any]]) -> float:
    """When the last sound of the recording ends."""
    frame = RATE_HZ // 100
    whole = speech[: len(speech) // frame * frame].reshape(-1, frame)
    power = np.mean(np.square(whole), axis=1) + 1e-12
    return float(np.nonzero(power > power.max() / 10 ** (WITHIN_DB / 10))[0][-1] + 1) * frame / RATE_HZ


def played(item: Item, condition: str) -> Played:
    """The item between longer silences than the speech benchmark's, for the endpointer to settle and to wait in."""
    speech = read_wav(item.clip.path).astype(np.float64)
    silence = (np.zeros(round(BEFORE_S * RATE_HZ)), np.zeros(round(AFTER_S * RATE_HZ)))
    longer = np.concatenate([silence[0], speech, silence[1]])
    samples = in_condition(longer, CONDITIONS[condition], seed_of(condition, item.name), [])
    return Played(item=item, samples=samples, ends_s=LEAD_S + BEFORE_S + clean_end_s(speech))


def with_own_endpointing(derived: Path, base: Path, folder: Path) -> Path:
    """The derived model with the endpointing and the chunks that the model was published with."""
    shutil.copytree(derived, folder, symlinks=True)
    beam = re.findall(r"^--lattice-beam=.*$", (derived / "conf/model.conf").read_text(), re.MULTILINE)
    published = re.sub(r"^--lattice-beam=.*$", beam[0], (base / "conf/model.conf").read_text(), flags=re.MULTILINE)
    (folder / "conf/model.conf").write_text(published)
    return folder


class Clock:
    """The simulated time: `arrived` moves it to a piece's arrival, `worked` by processor time."""

    def __init__(self) -> None:
        self.now_s = 0.0
        self._began = 0.0

    def arrived(self, at_s: float) -> None:
        self.now_s = max(self.now_s, at_s)
        self._began = time.thread_time()

    def worked(self) -> None:
        self.now_s += time.thread_time() - self._began


def has_words(utterance: Utterance) -> bool:
    """Whether there is more in it than what the grammar has no word for."""
    return any(word != UNKNOWN for word in utterance.best.words) if utterance.hypotheses else False


def early(sound: Played, endpointer: Endpointer, decide: Callable[[Utterance], None]) -> tuple[float, Utterance] | None:
    """When our endpointer gives the first utterance with words out and it is decided."""
    clock = Clock()
    found = None
    for at in range(0, len(sound.samples), PIECE):
        clock.arrived((at + PIECE) / RATE_HZ)
        utterance = endpointer.accept(sound.samples[at : at + PIECE])
        if utterance is not None and has_words(utterance):
            decide(utterance)
            clock.worked()
            found = (clock.now_s, utterance)
            break
        clock.worked()
    endpointer.drop()
    return found


def own(sound: Played, ear: Any, decide: Callable[[Utterance], None]) -> tuple[float, Utterance] | None:
    """The same by the recogniser's own endpointing, of the model's own settings."""
    clock = Clock()
    found = None
    for at in range(0, len(sound.samples), PIECE):
        clock.arrived((at + PIECE) / RATE_HZ)
        if ear.AcceptWaveform(as_pcm(sound.samples[at : at + PIECE], at=at)):
            rivals = json.loads(ear.Result())["alternatives"]
            heard = ((tuple(rival["text"].split()), rival["confidence"]) for rival in rivals)
            utterance = Utterance(hypotheses=tuple(Hypothesis(words=w, log_likelihood=c) for w, c in heard))
            if has_words(utterance):
                decide(utterance)
                clock.worked()
                found = (clock.now_s, utterance)
                break
        clock.worked()
    ear.Reset()
    return found


def judged(found: tuple[float, Utterance] | None, sound: Played, whole: tuple[str, ...]) -> Ended | None:
    """None where nothing was given out. What was said, word for word, is not cut, whatever the whole is heard as."""
    if found is None:
        return None
    at_s, utterance = found
    words = utterance.best.words
    part = any(words == whole[at : at + len(words)] for at in range(len(whole)))
    shorter = len(words) < len(whole) and part and words != tuple(sound.item.clip.words.split())
    return Ended(delay_s=at_s - sound.ends_s, words=words, cut=at_s < sound.ends_s - FADING_S or shorter)


def compared(items: Sequence[Item], condition: str, ears: RatedEars, ear: Any, setting: Setting) -> Iterator[Any]:
    """For each item what our endpointer and the recogniser's own came to."""
    needed_s, first_s = ending_for(setting.grammar, ears.name)
    for item in items:
        sound = played(item, condition)
        heard = running(item, setting)

        def decide(utterance: Utterance, heard: Any = heard) -> None:
            take_turn(heard.incident, utterance, heard.at_s, setting)

        whole = ears.hear(sound.samples).best.words
        ours = early(sound, Endpointer(ears, needed_s, first_s=first_s), decide)
        yield item, judged(ours, sound, whole), judged(own(sound, ear, decide), sound, whole), whole


def kept(place: Path | None, item: Item, condition: str, *ended: Ended | None) -> None:
    """Adds what was measured to the file."""
    if place is not None:
        with place.open("a", encoding="utf-8") as file:
            measured = [None if each is None else asdict(each) for each in ended]
            file.write(json.dumps({"condition": condition, "item": item.name, "ended": measured}) + "\n")


def read_kept(place: Path | None, condition: str) -> dict[str, list[Ended | None]]:
    """For each command of the condition in the file what our endpointer and the recogniser's own came to."""
    if place is None or not place.exists():
        return {}
    lines = map(json.loads, place.read_text(encoding="utf-8").splitlines())
    newest = {line["item"]: line["ended"] for line in lines if line["condition"] == condition}
    return {name: [None if each is None else Ended(**each) for each in ended] for name, ended in newest.items()}


def row(name: str, condition: str, ended: Sequence[Ended | None]) -> str:
    """One line of the table."""
    there = [each for each in ended if each is not None]
    delays = sorted(each.delay_s for each in there if not each.cut)
    if not delays:
        return f"| {name} | {condition} | {len(ended)} | nothing was given out | | | |"
    ranks = [delays[min(len(delays) - 1, int(share * len(delays)))] for share in (0.5, 0.95)]
    cut = sum(each.cut for each in there)
    figures = " | ".join(f"{1e3 * each:.0f} ms" for each in (*ranks, delays[-1]))
    shares = f"{cut} ({100 * cut / len(ended):.2f} %) | {len(ended) - len(there)}"
    return f"| {name} | {condition} | {len(ended)} | {figures} | {shares} |"


def main(arguments: Sequence[str]) -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--set", dest="which", choices=SETS, default="tuning")
    parser.add_argument("--each", type=int, default=1, help="voices for each phrasing")
    parser.add_argument("--every", type=int, default=1, help="only every Nth command")
    parser.add_argument("--keep", type=Path, metavar="FILE", help="go on with what is measured in it")
    parser.add_argument("--conditions", default="quiet,pink20")
    parser.add_argument("--show-cut", action="store_true", help="print the commands that were cut short")
    parser.add_argument("--show-late", type=float, metavar="S", help="print the commands decided later than that")
    options = parser.parse_args(arguments)
    setting = default_setting()
    base = vosk_model()
    vosk_ears = VoskRecogniser.opened(setting.grammar, base)
    ears = RatedEars(vosk_ears, shared_model, AtOnce())
    with tempfile.TemporaryDirectory() as folder:
        ear = vosk_ears._ear(
            loaded(with_own_endpointing(derived_model(setting.grammar, base), base, Path(folder) / "model"))
        )
    items = list(commands(options.which, options.each))
    random.Random(1).shuffle(items)
    items = items[:: options.every]
    names = options.conditions.split(",")
    speak(options.which, items, names)
    print("| endpointing | condition | commands | median | 95th percentile | latest | cut short | never ended |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for condition in names:
        ended, found = read_kept(options.keep, condition), []
        left = [item for item in items if item.name not in ended]
        for item, ours, theirs, whole in compared(left, condition, ears, ear, setting):
            kept(options.keep, item, condition, ours, theirs)
            ended[item.name] = [ours, theirs]
            found.append((item, ours, theirs, whole))
        print(row("ours", condition, [ours for ours, _ in ended.values()]))
        print(row("the recogniser's own", condition, [theirs for _, theirs in ended.values()]), flush=True)
        for item, ours, _, whole in found:
            late = options.show_late is not None and (ours is None or ours.delay_s > options.show_late)
            if late or (options.show_cut and ours is not None and ours.cut):
                when = "never" if ours is None else f"{ours.delay_s:+.2f} s: {' '.join(ours.words)}"
                print(f"  {item.clip.words!r} heard whole as {' '.join(whole)!r}; {when}")


if __name__ == "__main__":
    main(sys.argv[1:])
