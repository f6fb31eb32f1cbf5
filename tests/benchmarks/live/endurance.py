"""What live listening costs: seconds until ready, processor time while idle, how late alerts are, memory over time.

usage: python tests/benchmarks/live/endurance.py [--minutes 30] [--only ready|idle|answering|alerts|memory]

Audio is fed as fast as it is taken, in pieces of 20 ms as a microphone gives them, so that half an hour takes minutes;
processor time is this process's own, so that other programs do not count. Bare vosk is a recogniser over the same graph
that is given every piece, as a program without voice activity detection would do it.
"""

from __future__ import annotations

import argparse
import gc
import itertools
import os
import queue
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "speech"))

import numpy as np
import numpy.typing as npt
import places  # (first: it makes the repository and the voices importable)
from conditions import CONDITIONS, RATE_HZ, in_condition
from incidents import default_setting

from assistant.app import Session, SteadyClock
from assistant.hearing.answering import AnsweringGrammar
from assistant.hearing.ending import ending_for
from assistant.hearing.endpointing import Endpointer
from assistant.hearing.find_model import vosk_model
from assistant.hearing.pcm import as_pcm
from assistant.hearing.rating.ears import rated_where_possible
from assistant.hearing.recogniser import Recogniser, open_for_answers
from assistant.hearing.vosk_ears import VoskRecogniser
from assistant.hearing.wav import read_wav
from assistant.incident.watch import REPEAT_S
from assistant.journal import Journal
from assistant.live.conversation import Conversation
from assistant.meaning.typed import typed

PIECE = RATE_HZ // 50
IDLE_S = 60.0
ALERTS_FOR_S = 100.0
STATED_MB = 1024 * 1024
PAGE = os.sysconf("SC_PAGE_SIZE")


class Unseen:
    """A screen that shows nothing."""

    def show_turn(self, turn: Any, state: Any) -> None: ...
    def show_alert(self, alert: Any, state: Any) -> None: ...
    def show_prompt(self, at_s: float, say: str, state: Any) -> None: ...


def resident_mb() -> float:
    """Memory of this process that is in use now, MB."""
    return int(Path("/proc/self/statm").read_text().split()[1]) * PAGE / STATED_MB


def processor_s(pid: int) -> float:
    """Processor time of another process and of its ended children so far."""
    after_name = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return sum(map(int, after_name[11:15])) / os.sysconf("SC_CLK_TCK")


def pieces(samples: npt.NDArray[np.float32]) -> Iterator[npt.NDArray[np.float32]]:
    for at in range(0, len(samples) - PIECE, PIECE):
        yield samples[at : at + PIECE]


def room(seconds: float) -> npt.NDArray[np.float32]:
    """A quiet room with nobody in it, but for a far knock now and then."""
    rng = np.random.default_rng(7)
    samples = rng.standard_normal(round(seconds * RATE_HZ)) * 10 ** (-60 / 20)
    for at in rng.integers(0, len(samples) - 400, round(seconds / 10)):
        samples[at : at + 400] += rng.standard_normal(400) * np.linspace(0.05, 0, 400)
    return samples.astype(np.float32)


def ready() -> None:
    """From the start of `serve` until it can be spoken to, three times, the cache warm.

    Beside the time by the clock the processor time of all its threads: they are the same on a machine with a core to
    spare, and where other programs have the cores only the second is the program's own.
    """
    took, worked = [], []
    for _ in range(3):
        with tempfile.TemporaryDirectory() as folder:
            began = time.monotonic()
            command = [sys.executable, "-m", "assistant", "serve", "--port", "0", "--record", folder, "--new"]
            environment = {**os.environ, "PYTHONPATH": str(places.REPOSITORY), "PYTHONUNBUFFERED": "1"}
            with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as running:
                assert running.stdout is not None
                running.stdout.readline()
                took.append(time.monotonic() - began)
                worked.append(processor_s(running.pid))
                running.terminate()
    load = os.getloadavg()[0]
    of = f"at best of {len(took)} starts (load of the machine {load:.1f})"
    print(f"ready to listen: {min(took):.1f} s {of}, {min(worked):.1f} s of processor")


def idle(ears: Recogniser, bare_ears: VoskRecogniser, setting: Any) -> None:
    """The share of one core while nobody speaks."""
    needed_s, first_s = ending_for(setting.grammar, ears.name)
    endpointer = Endpointer(ears, needed_s, first_s=first_s)
    samples = room(IDLE_S)
    began = time.process_time()
    for piece in pieces(samples):
        endpointer.accept(piece)
    ours = time.process_time() - began
    ear = bare_ears._ear(bare_ears.model)
    began = time.process_time()
    for piece in pieces(samples):
        ear.AcceptWaveform(as_pcm(piece))
    bare = time.process_time() - began
    share = 100 / IDLE_S
    print(f"idle: {ours * share:.1f} % of a core; bare vosk {bare * share:.1f} %; ratio {ours / bare:.2f}")


def incident_audio() -> Iterator[npt.NDArray[np.float32]]:
    """The recorded samples in turn, in quiet and in wind, with pauses; for ever."""
    files = sorted((places.REPOSITORY / "audio_samples").glob("*.wav"))
    for turn, file in enumerate(itertools.cycle(files)):
        place = CONDITIONS["wind5" if turn % 4 == 3 else "quiet"]
        yield in_condition(read_wav(file).astype(np.float64), place, turn, [])
        yield room(4.0)


def memory(ears: Recogniser, setting: Any, minutes: float) -> float:
    """How much more memory is in use at most in the second half of the time than in the first (MB).

    Looked at each minute, with every utterance taken by a session that keeps its record.
    """
    needed_s, first_s = ending_for(setting.grammar, ears.name)
    endpointer = Endpointer(ears, needed_s, first_s=first_s)
    with tempfile.TemporaryDirectory() as folder:
        journal = Journal.create(Path(folder))
        session = Session(setting, SteadyClock(), Unseen(), record=journal)
        heard, fed_s, sizes = 0, 0.0, list[float]()
        waiting: queue.SimpleQueue[Any] = queue.SimpleQueue()
        for stretch in incident_audio():
            for piece in pieces(stretch):
                if (utterance := endpointer.accept(piece)) is not None and utterance.hypotheses:
                    waiting.put(utterance)
            while not waiting.empty():
                session.hear(waiting.get())
                heard += 1
            fed_s += len(stretch) / RATE_HZ
            if fed_s >= 60 * (len(sizes) + 1):
                gc.collect()
                sizes.append(resident_mb())
            if fed_s >= 60 * minutes:
                break
        journal.close()
    half = len(sizes) // 2
    told = ", ".join(f"{size:.0f}" for size in sizes[:: max(1, len(sizes) // 6)])
    print(f"memory over {minutes:g} min of sound, {heard} utterances, {len(session.incident.events)} events: {told} MB")
    grown_mb = max(sizes[half:]) - max(sizes[:half])
    print(f"at most {max(sizes[:half]):.0f} MB in the first half, {grown_mb:+.1f} MB in the second")
    return grown_mb


def answering(ears: Recogniser, setting: Any) -> None:
    """What the ears for an answer take, which are opened with the first question and stay."""
    speech = next(incident_audio())
    ears.hear(speech)
    before_mb, began = resident_mb(), time.thread_time()
    expecting = open_for_answers(ears.name, AnsweringGrammar(setting.grammar))
    took_s = time.thread_time() - began
    assert expecting is not None
    expecting.hear(speech)
    more_mb = resident_mb() - before_mb
    print(f"ears for an answer, from the first question on: {more_mb:.0f} MB more, opened in {took_s:.2f} s")


class Lateness(Unseen):
    """Notes how long after it fell due each repeat of an alert was shown."""

    def __init__(self, clock: SteadyClock) -> None:
        self._clock = clock
        self._last: dict[str, float] = {}
        self.late_s: list[float] = []

    def show_alert(self, alert: Any, state: Any) -> None:
        now_s = self._clock.now_s()
        due_s = self._last.get(alert.alert)
        if due_s is not None:
            self.late_s.append(now_s - due_s - REPEAT_S[alert.priority])
        self._last[alert.alert] = now_s


def alerts(ears: Recogniser, setting: Any) -> None:
    """How late alerts are shown while the ears decode speech without a pause, for two minutes."""
    clock = SteadyClock()
    screen = Lateness(clock)
    conversation = Conversation(Session(setting, clock, screen), clock)
    conversation.start()
    conversation.hear(typed("bottle reads 150, small cylinder, 15 litres", setting.grammar))
    speech = next(incident_audio())
    until_s = time.monotonic() + ALERTS_FOR_S
    while time.monotonic() < until_s:
        ears.hear(np.tile(speech, 4))
    conversation.stop()
    latest = max(screen.late_s)
    print(f"alerts while speech is decoded: {len(screen.late_s)} repeats, the latest {1e3 * latest:.0f} ms late")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--minutes", type=float, default=30.0, help="of sound, for the memory; 2 at least")
    parser.add_argument("--only", choices=("ready", "idle", "answering", "alerts", "memory"))
    options = parser.parse_args()
    if options.only in (None, "ready"):
        ready()
    if options.only == "ready":
        return
    setting = default_setting()
    bare_ears = VoskRecogniser.opened(setting.grammar, vosk_model())
    ears = rated_where_possible(bare_ears)
    if options.only in (None, "idle"):
        idle(ears, bare_ears, setting)
    if options.only in (None, "answering"):
        answering(ears, setting)
    if options.only in (None, "alerts"):
        alerts(ears, setting)
    if options.only in (None, "memory"):
        memory(ears, setting, options.minutes)


if __name__ == "__main__":
    main()
