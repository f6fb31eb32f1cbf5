"""What was heard: words, the recogniser's rival readings of them, and the utterance that holds these.

Typed text enters here as an utterance with one hypothesis, so that typing exercises everything but the ears.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class Hypothesis:
    """One reading of an utterance.

    `words` are lower-case words as the grammar spells them; a word that the recogniser could not place is "[unk]";
    typed numerals stay numerals ("1500"). `log_likelihood` is a natural logarithm, comparable only between the
    hypotheses of one utterance; typed text has 0.0. `first_in`: in how many hearings of the sound it came first, where
    there were two; 0 where there was one. `rated`: its log likelihood by a second model, where one was asked.
    """

    words: tuple[str, ...]
    log_likelihood: float = 0.0
    first_in: int = 0
    rated: float | None = None

    @property
    def text(self) -> str:
        """The words, separated by single spaces."""
        return " ".join(self.words)


@dataclass(frozen=True, slots=True, kw_only=True)
class Utterance:
    """One breath of speech, or one typed line: its hypotheses, best first, without repeats.

    No hypothesis, or one without words, is silence. `background` is what an unrestricted decoding of the same audio
    heard (its likelihood is on the same scale as the hypotheses'), where the ears made one. `typed` text is certain:
    there is nothing to weigh. `seconds` is the length of the audio, 0.0 for typed text. `engine` is the recogniser's
    name: what its likelihoods are worth differs. `addressed`: a key was held or the call word said, so that
    it is hardly other people's talk.
    """

    hypotheses: tuple[Hypothesis, ...] = ()
    background: Hypothesis | None = None
    typed: bool = False
    seconds: float = 0.0
    engine: str = ""
    addressed: bool = False
    freely: Hypothesis | None = None
    freely_ahead: float = 0.0
    source: str = field(default="", compare=False)

    @property
    def best(self) -> Hypothesis:
        """The first hypothesis; an empty one for silence."""
        return self.hypotheses[0] if self.hypotheses else Hypothesis(words=())
