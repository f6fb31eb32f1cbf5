"""How much better the words that lend their sound fit than the word itself, as the recogniser's dictionary has it.

usage: python tests/benchmarks/lent_sounds.py [--set tuning|scoring] [--clips N]

For every word of grammars/en/sounds.toml: sentences of the speech benchmark with it, said in quiet by the voices of the
set, heard by the plain model in a list of two phrases or more, the sentence as it is and with each lender in the word's
place. Prints for each word in how many clips a lender is likelier, and by how many nats in the mean (both ends capped
at 8, the lattice beam it is heard with); a word that the model lacks has no sound of its own.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np

SPEECH = Path(__file__).resolve().parent / "speech"
sys.path.insert(0, str(SPEECH))

import places  # noqa: F401  (first: it makes the repository importable)
from corpora import SETS, Item, commands
from played import played, speak
from run import default_setting

from assistant.hearing.find_model import vosk_model

BEAM = 8.0
VOICES_EACH = 3


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--set", dest="which", choices=SETS, default="tuning", help="which voices and phrasings")
    parser.add_argument("--clips", type=int, default=10, metavar="N", help="at most so many for a word (default 10)")
    options = parser.parse_args()
    items = list(commands(options.which, VOICES_EACH))
    print("| word | lent by | clips | a lender is likelier in | by, in the mean (nats) |")
    print("| --- | --- | --- | --- | --- |")
    with tempfile.TemporaryDirectory() as folder:
        ear = Ear(Path(folder))
        for word, others in default_setting().grammar.sounds().items():
            clips = [item for item in items if word in item.clip.words.split()][: options.clips]
            speak(options.which, clips, ["quiet"])
            gains = list(gains_of(word, others, clips, options.which, ear))
            own = "" if ear.knows(word) else " (the model lacks it)"
            better = sum(gain > 0 for gain in gains)
            mean = f"{sum(gains) / len(gains):.1f}" if gains else "-"
            print(f"| {word}{own} | {', '.join(others)} | {len(gains)} | {better} | {mean} |", flush=True)


class Ear:
    """The plain model, its lattice beam wide enough to compare."""

    def __init__(self, folder: Path) -> None:
        import vosk

        vosk.SetLogLevel(-1)
        for place in vosk_model().iterdir():
            if place.name != "conf":
                (folder / place.name).symlink_to(place.resolve())
        (folder / "conf").mkdir()
        for file in (vosk_model() / "conf").iterdir():
            text = re.sub(r"--lattice-beam=\S+", f"--lattice-beam={BEAM}", file.read_text(encoding="utf-8"))
            (folder / "conf" / file.name).write_text(text, encoding="utf-8")
        self._vosk, self._model = vosk, vosk.Model(str(folder))

    def knows(self, word: str) -> bool:
        """Whether the model has the word."""
        return bool(self._model.vosk_model_find_word(word) >= 0)

    def likelihoods(self, pcm: bytes, phrases: list[str]) -> dict[str, float]:
        """The log likelihood of each phrase that it hears within the beam."""
        ear = self._vosk.KaldiRecognizer(self._model, 16_000, json.dumps(phrases))
        ear.SetMaxAlternatives(20)
        ear.AcceptWaveform(pcm)
        found: dict[str, float] = {}
        for rival in json.loads(ear.FinalResult())["alternatives"]:
            found.setdefault(rival["text"], float(rival["confidence"]))
        return found


def gains_of(word: str, others: tuple[str, ...], clips: list[Item], which: str, ear: Ear) -> Iterator[float]:
    """For each clip the best lender's log likelihood less the word's own."""
    for item in clips:
        said = item.clip.words.split()
        at = said.index(word)
        lent = [" ".join([*said[:at], other, *said[at + 1 :]]) for other in others]
        samples = np.clip(played(which, item, "quiet"), -1.0, 1.0)
        heard = ear.likelihoods((samples * 32767).astype("<i2").tobytes(), [item.clip.words, *lent])
        best = max(heard.values(), default=0.0)
        own, better = heard.get(item.clip.words), [heard[phrase] for phrase in lent if phrase in heard]
        if own is not None or better:
            yield min(max(better, default=best - BEAM) - (best - BEAM if own is None else own), BEAM)


if __name__ == "__main__":
    main()
