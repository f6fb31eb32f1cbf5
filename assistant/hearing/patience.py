"""How long to wait in silence before an utterance counts as over: takes the words so far, gives seconds.

A whole sentence that hardly goes on is over soon; one whose last number may grow gets longer, one that is none longest.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from assistant.grammar.continuation import Continuations


@dataclass(frozen=True, slots=True, kw_only=True)
class Patience:
    """Seconds of silence that end an utterance, by what the words are; tuned on the tuning voices (see the benchmark).

    `first_s`: nothing is asked of the words before. `whole_s`: they are a whole sentence. `growing_s`: a whole sentence
    whose last number may go on ("fifteen", "one five"). `unfinished_s`: the beginning of a sentence. `other_s`: no
    sentence begins so, or silence. `growth`: the probability of one more number word from which a sentence is growing.
    """

    first_s: float = 0.195
    whole_s: float = 0.195
    growing_s: float = 0.395
    unfinished_s: float = 0.70
    other_s: float = 0.42
    growth: float = 0.03

    def needed_s(self, words: Sequence[str], after: Continuations, numbers: Collection[str], *, matches: bool) -> float:
        """How much silence must have passed after these words; `matches`: the grammar takes them, however unlikely."""
        if not words:
            return self.other_s
        going_on = after.after(words)
        if going_on is None or not going_on.complete:
            if matches:
                return self.growing_s
            return self.other_s if going_on is None else self.unfinished_s
        grows = sum(chance for word, chance in going_on.nexts if word in numbers)
        return self.growing_s if words[-1] in numbers and grows >= self.growth else self.whole_s
