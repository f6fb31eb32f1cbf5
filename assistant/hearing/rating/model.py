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
    """What the model made of some sound before the first token: the encoder's `states` (1, frames, 288), the mask of
    its samples (1, samples), what the decoder keeps of them for the next run, and its logits (1, vocabulary)."""

    states: NDArray[np.float32]
    mask: NDArray[np.int64]
    kept: dict[str, NDArray[np.float32]]
    logits: NDArray[np.float32]
    seconds: float


class RatingModel:
    """The model, loaded."""

    def __init__(self, encoder: Any, decoder: Any, tokens: Tokens) -> None:
        self._encoder = encoder
        self._decoder = decoder
        self._tokens = tokens
        self._marks = [END, *(number for mark in ".?!" for number in tokens.within(mark))]
        past = [given for given in decoder.get_inputs() if given.name.startswith("past_key_values")]
        self._past = {given.name: (given.shape[1], given.shape[3]) for given in past}

    @classmethod
    def opened(cls, folder: Path) -> RatingModel:
        """The model in a folder with FILES. Raises OSError where one is missing, ValueError where one is spoilt."""
        import onnxruntime

        asked = onnxruntime.SessionOptions()
        asked.intra_op_num_threads = 1  # the recogniser's second hearing goes on at the same time
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
        nothing = {name: np.zeros((0, heads, 1, size), np.float32) for name, (heads, size) in self._past.items()}
        asked = {
            "input_ids": np.array([[BEGIN]]),
            "encoder_hidden_states": states,
            "encoder_attention_mask": mask,
            "use_cache_branch": np.array([False]),
        }
        logits, *kept = self._decoder.run(None, {**asked, **nothing})
        return Sound(
            states=states, mask=mask, kept=dict(zip(self._past, kept, strict=True)), logits=logits[0], seconds=seconds
        )

    def rate(self, sound: Sound, lines: Sequence[str]) -> list[float]:
        """The log likelihood (natural logarithm) of each line and its end, with whatever mark it ends.

        One line at a time: the model's arithmetic is rounded by what is in a run, and a line's rating must not depend
        on the others. All in one run would take a fifth less time.
        """
        return [self._rated(sound, self._tokens.of(line)) for line in lines]

    def freely(self, sound: Sound) -> tuple[str, float]:
        """What the model itself would write, token by token the likeliest, and its log likelihood."""
        numbers: list[int] = []
        log_likelihood, kept, logits = 0.0, sound.kept, sound.logits
        for _ in range(max(4, round(MOST_TOKENS_A_SECOND * sound.seconds))):
            likeliest = int(logits[-1].argmax())
            log_likelihood += float(_log_shares(logits[-1:], [likeliest])[0])
            if likeliest == END:
                break
            numbers.append(likeliest)
            logits, kept = self._after(sound, kept, [likeliest])
        return self._tokens.text(numbers), log_likelihood

    def _rated(self, sound: Sound, numbers: Sequence[int]) -> float:
        import numpy as np

        logits, _ = self._after(sound, sound.kept, numbers)
        logits = np.concatenate([sound.logits, logits])
        ended = np.logaddexp.reduce([_log_shares(logits[-1:], [mark])[0] for mark in self._marks])
        return float(_log_shares(logits[:-1], numbers).sum() + ended)

    def _after(
        self, sound: Sound, kept: dict[str, NDArray[np.float32]], numbers: Sequence[int]
    ) -> tuple[NDArray[np.float32], dict[str, NDArray[np.float32]]]:
        """The logits after each of these further tokens (tokens, vocabulary), and what is kept for the next run."""
        import numpy as np

        asked = {
            "input_ids": np.array([numbers], dtype=np.int64),
            "encoder_hidden_states": sound.states,
            "encoder_attention_mask": sound.mask,
            "use_cache_branch": np.array([True]),
        }
        logits, *present = self._decoder.run(None, {**asked, **kept})
        # What the sound itself comes to does not change from run to run, and is given back empty.
        new = zip(self._past, present, strict=True)
        return logits[0], {name: given if ".decoder." in name else kept[name] for name, given in new}


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
