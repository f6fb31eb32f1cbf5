"""Prints what one spoken turn costs stage by stage: the recorded samples in noise, heard, understood and decided on.

Usage: python tests/benchmarks/turn_speed.py [--every 3] [--below-db 10]. White noise that many dB below the speech
makes the recogniser unsure, so that it gives many hypotheses. Milliseconds are processor time.
"""

from __future__ import annotations

import gc
import sys
from argparse import ArgumentParser
from pathlib import Path
from statistics import mean
from time import process_time

sys.path.insert(0, str(Path(__file__).parents[2]))

import numpy as np
from numpy.typing import NDArray

from assistant import shelf
from assistant.app import kit_from, setting_for
from assistant.cli import NEW_OBJECTS_BEFORE_COLLECTING
from assistant.dialogue.turn import Setting, take_turn
from assistant.hearing.recogniser import open_recogniser
from assistant.hearing.wav import read_wav
from assistant.incident.log import Incident
from assistant.meaning.typed import typed
from assistant.meaning.understand import understand
from assistant.utterance import Utterance

SAMPLES = Path(__file__).parents[2] / "audio_samples"
BEFORE = ("small cylinder", "gauge reads 1500", "flow 15", "boat in 70 minutes", "sats 94")


def main() -> None:
    """A row for each stage."""
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("--every", type=int, default=3)
    parser.add_argument("--below-db", type=float, default=10.0)
    args = parser.parse_args()
    gc.set_threshold(NEW_OBJECTS_BEFORE_COLLECTING)  # as the program has it
    setting = setting_for(kit_from(None))
    ears = open_recogniser("vosk", setting.grammar, pronunciations=shelf.pronunciations())
    incident = _begun(setting)
    gc.freeze()
    chance = np.random.default_rng(1)
    heard_ms, utterances = [], []
    for file in sorted(SAMPLES.glob("*.wav"))[:: args.every]:
        began = process_time()
        utterances.append(ears.hear(_noisy(read_wav(file), args.below_db, chance)))
        heard_ms.append(1000 * (process_time() - began))
    rivals = mean(len(utterance.hypotheses) for utterance in utterances)
    print(f"{len(utterances)} utterances of {mean(u.seconds for u in utterances):.1f} s, {rivals:.1f} hypotheses each")
    _tell("heard", heard_ms)
    _tell("understood", [_understood_ms(utterance, setting) for utterance in utterances])
    _tell("the whole turn, understanding in it", [_turn_ms(utterance, incident, setting) for utterance in utterances])


def _begun(setting: Setting) -> Incident:
    incident = Incident(setting.kit)
    for at_s, line in enumerate(BEFORE):
        incident.append(take_turn(incident, typed(line, setting.grammar), float(at_s), setting).events)
    return incident


def _noisy(samples: NDArray[np.float32], below_db: float, chance: np.random.Generator) -> NDArray[np.float32]:
    loudness = float(np.sqrt(np.mean(samples**2)))
    noise = chance.standard_normal(len(samples)) * loudness * 10 ** (-below_db / 20)
    return np.clip(samples + noise, -1, 1).astype(np.float32)


def _understood_ms(utterance: Utterance, setting: Setting) -> float:
    began = process_time()
    understand(utterance, setting.grammar, setting.kit)
    return 1000 * (process_time() - began)


def _turn_ms(utterance: Utterance, incident: Incident, setting: Setting) -> float:
    began = process_time()
    take_turn(incident, utterance, 10.0, setting)
    return 1000 * (process_time() - began)


def _tell(stage: str, times_ms: list[float]) -> None:
    ordered = sorted(times_ms)
    middle, high = ordered[len(ordered) // 2], ordered[len(ordered) * 9 // 10]
    print(
        f"{stage}: mean {mean(ordered):.1f}, median {middle:.1f}, 90th percentile {high:.1f}, most {ordered[-1]:.1f} ms"
    )


if __name__ == "__main__":
    main()
