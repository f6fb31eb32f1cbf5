"""Takes a PCM WAV file, gives float32 mono samples at 16 kHz; refuses, in one line, what cannot be heard."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

from assistant.hearing.errors import WavError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

SAMPLE_RATE_HZ = 16_000
LOWEST_RATE_HZ, HIGHEST_RATE_HZ = 4_000, 768_000
MOST_CHANNELS = 32
LONGEST_S = 3_600.0
UNKNOWN_LENGTH = 0xFFFFFFFF  # what a program writes that sends its WAV through a pipe
BLOCK_FRAMES = 1 << 18


def read_wav(path: Path | str) -> NDArray[np.float32]:
    """The samples of a WAV file: float32 in -1..1, mono (channels averaged), resampled to 16 kHz by soxr.

    Takes PCM of 8, 16, 24 or 32 bit and floats, at 4 kHz to 768 kHz. Raises WavError, with the file's name, for
    anything else: not a WAV, empty, truncated, or absurd.
    """
    path = Path(path)
    try:
        with path.open("rb") as file:
            _refuse_bad_chunks(file, path)
            file.seek(0)
            return _decoded(file, path)
    except OSError as error:
        raise WavError(f"{path}: {error.strerror or error}") from None


def _refuse_bad_chunks(file: BinaryIO, path: Path) -> None:
    """libsndfile plays what is left of a cut-off file without a word, so the chunks are walked here first."""
    file.seek(0, 2)
    size = file.tell()
    file.seek(0)
    head = file.read(12)
    if size == 0:
        raise WavError(f"{path}: the file is empty")
    if len(head) < 12 or head[:4] not in (b"RIFF", b"RF64") or head[8:] != b"WAVE":
        raise WavError(f"{path}: not a WAV file")
    while len(chunk := file.read(8)) == 8:
        name, length = struct.unpack("<4sI", chunk)
        if name == b"data":
            _refuse_bad_length(length, size - file.tell(), path)
            return
        file.seek(length + length % 2, 1)
    raise WavError(f"{path}: truncated, the file ends before its sound begins")


def _refuse_bad_length(declared: int, present: int, path: Path) -> None:
    if declared == 0 or present == 0:
        raise WavError(f"{path}: there is no sound in this WAV file")
    if declared != UNKNOWN_LENGTH and present < declared:
        raise WavError(f"{path}: truncated, {present} of {declared} bytes of sound are there")


def _decoded(file: BinaryIO, path: Path) -> NDArray[np.float32]:
    import soundfile

    try:
        with soundfile.SoundFile(file) as sound:
            _refuse_absurd(sound, path)
            return _resampled(sound)
    except soundfile.LibsndfileError as error:
        raise WavError(f"{path}: not a WAV file that can be read ({error.error_string.rstrip('.')})") from None


def _refuse_absurd(sound: Any, path: Path) -> None:
    if not sound.subtype.startswith(("PCM", "FLOAT", "DOUBLE")):
        raise WavError(f"{path}: the sound is {sound.subtype}; only PCM can be read")
    if not LOWEST_RATE_HZ <= sound.samplerate <= HIGHEST_RATE_HZ:
        raise WavError(f"{path}: {sound.samplerate} samples a second is no rate for speech; 8000 to 48000 are usual")
    if sound.channels > MOST_CHANNELS:
        raise WavError(f"{path}: {sound.channels} channels; one or two are usual")
    if sound.frames == 0:
        raise WavError(f"{path}: there is no sound in this WAV file")
    if sound.frames / sound.samplerate > LONGEST_S:
        raise WavError(f"{path}: {sound.frames / sound.samplerate / 3600:.1f} hours of sound; one hour at most")


def _resampled(sound: Any) -> NDArray[np.float32]:
    """Block by block, so that an hour of stereo at 48 kHz never stands in memory whole."""
    import numpy as np
    import soxr

    resampler = soxr.ResampleStream(sound.samplerate, SAMPLE_RATE_HZ, 1, dtype="float32")
    blocks = [
        resampler.resample_chunk(np.nan_to_num(block.mean(axis=1, dtype=np.float32)))
        for block in sound.blocks(BLOCK_FRAMES, dtype="float32", always_2d=True)
    ]
    blocks.append(resampler.resample_chunk(np.zeros(0, dtype=np.float32), last=True))
    samples: NDArray[np.float32] = np.clip(np.concatenate(blocks), -1.0, 1.0)
    return samples
