"""The rating model: takes sound and lines of text, gives how likely each line is as what was said.

It is Moonshine's smallest English model (27 million parameters, MIT licence; Jeffries et al. 2024, "Moonshine: speech
recognition for live transcription and voice commands", arXiv 2410.15608), which comes in the wheel of the package
`moonshine-voice` and runs on `onnxruntime`. Both are optional.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assistant.hearing.rating.tokens import Tokens
from assistant.hearing.wav import SAMPLE_RATE_HZ

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

PACKAGE = "moonshine_voice"
FOLDER = Path("assets", "tiny-en")
FILES = ("encoder_model.ort", "decoder_model_merged.ort", "tokenizer.bin")
OFF = "OXYGEN_ASSISTANT_RATING"  # set to "off", the ears hear without it
BEGIN, END = 1, 2
# Shorter than this the encoder's windows hold nothing; in longer sound the model was not trained.
SHORTEST_S, LONGEST_S = 0.2, 25.0
# Nobody says more in a second (the model's authors bound their own decoding so); what goes on is a loop.
MOST_TOKENS_A_SECOND = 6.5


@dataclass(frozen=True, slots=True)
class Sound:
    """What the encoder made of some sound: `states` (1, frames, 288) and the mask of its samples (1, samples)."""

    states: NDArray[np.float32]
    mask: NDArray[np.int64]
    seconds: float


class RatingModel:
    """The model, loaded."""

    def __init__(self, encoder: Any, decoder: Any, tokens: Tokens) -> None:
        self._encoder = encoder
        self._decoder = decoder
        self._tokens = tokens
        past = [given for given in decoder.get_inputs() if given.name.startswith("past_key_values")]
        self._past = {given.name: (given.shape[1], given.shape[3]) for given in past}

    @classmethod
    def opened(cls, folder: Path) -> RatingModel:
        """The model in a folder with FILES. Raises OSError where one is missing, ValueError where one is spoilt."""
        import onnxruntime

        asked = onnxruntime.SessionOptions()
        asked.intra_op_num_threads = min(2, os.cpu_count() or 1)
        asked.inter_op_num_threads = 1
        asked.enable_cpu_mem_arena = False  # memory is short: what a long utterance took is given back
        asked.log_severity_level = 3
        encoder, decoder = (_session(folder / name, asked) for name in FILES[:2])
        return cls(encoder, decoder, Tokens.read(folder / FILES[2]))

    def hear(self, samples: NDArray[np.float32]) -> Sound | None:
        """The sound, to rate lines by; None where it is too short or too long. float32 mono at 16 kHz."""
        import numpy as np

        seconds = len(samples) / SAMPLE_RATE_HZ
        if not SHORTEST_S <= seconds <= LONGEST_S:
            return None
        given = samples.astype(np.float32)[None]
        mask = np.ones(given.shape, dtype=np.int64)
        (states,) = self._encoder.run(None, {"input_values": given, "attention_mask": mask})
        return Sound(states=states, mask=mask, seconds=seconds)

    def rate(self, sound: Sound, lines: Sequence[str]) -> list[float]:
        """The log likelihood (natural logarithm) of each line, its end included.

        One line at a time: the model's arithmetic is rounded by what is in a run, and a line's rating must not depend
        on the others. All in one run would take a fifth less time.
        """
        return [self._rated(sound, [*self._tokens.of(line), END]) for line in lines]

    def _rated(self, sound: Sound, wanted: Sequence[int]) -> float:
        import numpy as np

        given = np.array([[BEGIN, *wanted[:-1]]], dtype=np.int64)
        (logits,) = self._decoder.run(["logits"], self._asked(sound, given, self._no_past(), first=True))
        return float(_log_shares(logits[0], wanted).sum())

    def freely(self, sound: Sound) -> tuple[str, float]:
        """What the model itself would write, token by token the likeliest, and its log likelihood."""
        import numpy as np

        past = self._no_past()
        numbers: list[int] = []
        log_likelihood, last = 0.0, BEGIN
        for place in range(max(4, round(MOST_TOKENS_A_SECOND * sound.seconds))):
            given = np.array([[last]], dtype=np.int64)
            logits, *present = self._decoder.run(None, self._asked(sound, given, past, first=place == 0))
            last = int(logits[0, -1].argmax())
            log_likelihood += float(_log_shares(logits[0, -1:], [last])[0])
            if last == END:
                break
            numbers.append(last)
            # What the encoder's states come to is made in the first step; later steps pass it on.
            kept = zip(self._past, present, strict=True)
            past = {name: new if place == 0 or ".decoder." in name else past[name] for name, new in kept}
        return self._tokens.text(numbers), log_likelihood

    def _asked(self, sound: Sound, given: NDArray[np.int64], past: Any, *, first: bool) -> dict[str, Any]:
        import numpy as np

        return {
            "input_ids": given,
            "encoder_hidden_states": sound.states,
            "encoder_attention_mask": sound.mask,
            "use_cache_branch": np.array([not first]),
            **past,
        }

    def _no_past(self) -> dict[str, NDArray[np.float32]]:
        import numpy as np

        return {name: np.zeros((0, heads, 1, size), dtype=np.float32) for name, (heads, size) in self._past.items()}


def model_folder() -> Path | None:
    """Where the model is; None where its package or onnxruntime is not installed, or it is switched off."""
    if os.environ.get(OFF, "").lower() == "off" or find_spec("onnxruntime") is None:
        return None
    found = find_spec(PACKAGE)
    if found is None or found.origin is None:
        return None
    folder = Path(found.origin).parent / FOLDER
    return folder if all((folder / name).is_file() for name in FILES) else None


def _session(file: Path, asked: Any) -> Any:
    import onnxruntime

    if not file.is_file():
        raise OSError(f"{file} is missing")
    try:
        return onnxruntime.InferenceSession(str(file), asked, providers=["CPUExecutionProvider"])
    except Exception as error:  # onnxruntime has an error class for each of its codes, none of them public
        raise ValueError(f"{file} cannot be loaded: {error}") from None


def _log_shares(logits: NDArray[np.float32], numbers: Sequence[int]) -> NDArray[np.float64]:
    """log P of each token by its row of logits (tokens, vocabulary)."""
    import numpy as np

    top = logits.max(axis=1).astype(np.float64)
    whole = top + np.log(np.exp(logits - top[:, None].astype(np.float32)).sum(axis=1, dtype=np.float64))
    found: NDArray[np.float64] = logits[np.arange(len(numbers)), numbers] - whole
    return found
