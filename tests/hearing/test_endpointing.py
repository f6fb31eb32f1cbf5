"""Where utterances begin and end, with a recogniser that hears what a script says at which time."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from assistant.grammar.continuation import Continuations
from assistant.hearing.endpointing import Endpointer
from assistant.hearing.patience import Patience
from assistant.hearing.quiet import Quiet
from assistant.hearing.wav import SAMPLE_RATE_HZ
from assistant.utterance import Hypothesis, Utterance

Samples = npt.NDArray[np.float32]
PIECE = SAMPLE_RATE_HZ // 50
NUMBERS = frozenset({"one", "five", "zero", "fifteen", "hundred"})


def speech(seconds: float, *, level: float = 0.1) -> Samples:
    """Something voiced: harmonics of 120 Hz."""
    at_s = np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    tone = sum(np.sin(2 * np.pi * 120 * n * at_s) / n for n in range(2, 20))
    return (level * tone / np.abs(tone).max()).astype(np.float32)


def room(seconds: float, seed: int = 1) -> Samples:
    rng = np.random.default_rng(seed)
    return (rng.standard_normal(round(seconds * SAMPLE_RATE_HZ)) * 3e-4).astype(np.float32)


@dataclass
class ScriptedEars:
    """Hears the next word of the script for each second half of sound it is given."""

    script: tuple[str, ...]
    opened: int = 0
    finished: int = 0
    name: str = "scripted"
    # Whether it tells of silence by itself, once the script is said: as a recogniser does in wind.
    tells: bool = False
    # A word that it makes up when it is finished before the script's end, to make a sentence of what it has.
    made_up: tuple[str, ...] = ()

    def stream(self) -> ScriptedStream:
        self.opened += 1
        return ScriptedStream(self.script, tells=self.tells, made_up=self.made_up, ears=self)

    def hear(self, samples: Samples) -> Utterance:
        raise NotImplementedError

    def background(self, samples: Samples) -> Hypothesis | None:
        return None


@dataclass
class ScriptedStream:
    script: tuple[str, ...]
    tells: bool
    made_up: tuple[str, ...] = ()
    ears: ScriptedEars | None = None
    loud_s: float = field(default=0.0)

    @property
    def silent(self) -> bool:
        return self.tells and len(self._words()) == len(self.script)

    def accept(self, samples: Samples) -> str:
        frames = samples[: len(samples) // 80 * 80].reshape(-1, 80)
        self.loud_s += float((np.abs(frames).max(axis=1) > 0.01).sum()) * 80 / SAMPLE_RATE_HZ
        return " ".join(self._words())

    def finish(self) -> Utterance:
        if self.ears is not None:
            self.ears.finished += 1
        words = self._words()
        words += self.made_up if len(words) < len(self.script) else ()
        return Utterance(hypotheses=(Hypothesis(words=words),) if words else ())

    def _words(self) -> tuple[str, ...]:
        return self.script[: round(self.loud_s / 0.5)]


def run(endpointer: Endpointer, *parts: Samples) -> list[tuple[float, tuple[str, ...]]]:
    """The utterances with the time each was given out."""
    samples = np.concatenate(parts)
    found = []
    for at in range(0, len(samples), PIECE):
        utterance = endpointer.accept(samples[at : at + PIECE])
        if utterance is not None:
            found.append(((at + PIECE) / SAMPLE_RATE_HZ, utterance.best.words))
    return found


def endpointer(script: str, needed: dict[str, float], *, tells: bool = False) -> tuple[Endpointer, ScriptedEars]:
    ears = ScriptedEars(tuple(script.split()), tells=tells)
    return Endpointer(ears, lambda words: needed.get(" ".join(words), 0.7), first_s=0.2), ears


def test_a_whole_sentence_is_given_out_after_a_short_quiet() -> None:
    ends, _ = endpointer("done", {"done": 0.2})
    [(at_s, words)] = run(ends, room(1.0), speech(0.5), room(1.5))
    assert words == ("done",)
    assert 1.65 <= at_s <= 1.85


def test_what_may_be_whole_is_tried_before_its_quiet_is_over() -> None:
    ends, ears = endpointer("done", {"done": 0.2})
    samples, tried_at, given_out_at = np.concatenate([room(1.0), speech(0.5), room(1.5)]), 0, 0
    for at in range(0, len(samples), PIECE):
        given_out = ends.accept(samples[at : at + PIECE])
        tried_at = tried_at or (at if ears.finished else 0)
        given_out_at = given_out_at or (at if given_out is not None else 0)
    assert given_out_at - tried_at >= 2 * PIECE, "the trial takes time, which is to pass within the quiet"
    assert ears.finished == 1


def test_what_goes_on_is_not_tried_early() -> None:
    ends, ears = endpointer("one five", {"one": 0.4, "one five": 0.2})
    pause = 0.18
    [(_, words)] = run(ends, room(1.0), speech(0.5), room(pause), speech(0.5), room(1.5))
    assert words == ("one", "five")
    assert ears.opened == 1, "a short pause after words that may go on costs no trial"


def test_a_number_that_may_grow_is_not_cut_in_its_pause() -> None:
    ends, ears = endpointer("one five zero", {"one": 0.4, "one five": 0.4, "one five zero": 0.2})
    spoken = (speech(0.5), room(0.3), speech(0.5), room(0.3), speech(0.5))
    [(_, words)] = run(ends, room(1.0), *spoken, room(1.5))
    assert words == ("one", "five", "zero")
    assert ears.opened > 1, "it was tried before, and heard again"


def test_a_word_that_only_the_end_made_up_waits_for_the_right_one() -> None:
    ends, ears = endpointer("swapped to two", {"swapped tank": 0.2, "swapped to two": 0.2})
    ears.made_up = ("tank",)
    [(_, words)] = run(ends, room(1.0), speech(0.5), room(0.25), speech(1.0), room(1.5))
    assert words == ("swapped", "to", "two")


def test_a_sentence_that_may_grow_is_heard_once_where_nothing_follows() -> None:
    ends, ears = endpointer("one five", {"one five": 0.4})
    [(at_s, words)] = run(ends, room(1.0), speech(1.0), room(1.5))
    assert words == ("one", "five")
    assert 2.4 <= at_s <= 2.6
    assert ears.opened == 1, "what the trial heard is given out: hearing it again would take longer than the pause"


def test_what_is_no_sentence_ends_too() -> None:
    ends, _ = endpointer("so then", {})
    [(at_s, words)] = run(ends, room(1.0), speech(1.0), room(2.0))
    assert words == ("so", "then")
    assert 2.6 <= at_s <= 2.9


def test_in_wind_that_is_as_loud_as_speech_the_recognisers_own_silence_ends_it() -> None:
    gusts = (speech(0.5), speech(0.6))  # what is loud goes on, and the recogniser hears no word in it
    waits, _ = endpointer("done", {"done": 0.2})
    tells, _ = endpointer("done", {"done": 0.2}, tells=True)
    assert run(waits, room(1.0), *gusts) == []
    (at_s, words), *_ = run(tells, room(1.0), *gusts)
    assert words == ("done",)
    assert 1.3 <= at_s <= 1.6


def test_two_sentences_are_two_utterances() -> None:
    ends, _ = endpointer("done", {"done": 0.2})
    assert [words for _, words in run(ends, room(1.0), speech(0.5), room(1.0), speech(0.5), room(1.0))] == [
        ("done",),
        ("done",),
    ]


def test_nothing_comes_of_silence_or_of_a_noise_as_steady() -> None:
    ends, ears = endpointer("done", {"done": 0.2})
    steady = room(4.0) * 100
    assert run(ends, room(2.0), steady) == []
    assert ears.opened == 0


def test_half_a_sentence_that_is_dropped_leaves_nothing() -> None:
    ends, _ = endpointer("done", {"done": 0.2})
    assert run(ends, room(1.0), speech(0.4)) == []
    assert ends.hearing
    ends.drop()
    assert not ends.hearing
    assert run(ends, room(1.5)) == []


def test_a_hiss_at_the_end_of_a_word_is_no_quiet() -> None:
    rng = np.random.default_rng(2)
    hiss = np.diff(rng.standard_normal(round(0.3 * SAMPLE_RATE_HZ) + 1)).astype(np.float32) * 0.01
    quiet = Quiet()
    for part in (room(1.0), speech(0.5), hiss):
        quiet.accept(part)
    assert quiet.quiet_s <= 0.04
    quiet.accept(room(0.5))
    assert 0.4 <= quiet.quiet_s <= 0.55


def patient(words: str, arcs: list[tuple[int, str, float, int]], finals: dict[int, float], *, matches: bool) -> float:
    return Patience().needed_s(tuple(words.split()), Continuations(arcs, 0, finals), NUMBERS, matches=matches)


def test_patience_is_longest_for_what_is_unfinished() -> None:
    arcs = [(0, "fifteen", 0.0, 1), (1, "hundred", 1.2, 2), (0, "flow", 0.7, 3), (3, "fifteen", 0.0, 4)]
    finals = {1: 0.36, 2: 0.0, 4: 0.0}
    rules = Patience()
    assert patient("fifteen", arcs, finals, matches=True) == rules.growing_s
    assert patient("fifteen hundred", arcs, finals, matches=True) == rules.whole_s
    assert patient("flow", arcs, finals, matches=False) == rules.unfinished_s
    assert patient("hello there", arcs, finals, matches=False) == rules.other_s
    assert patient("", arcs, finals, matches=False) == rules.other_s
    assert rules.whole_s < rules.growing_s < rules.unfinished_s
