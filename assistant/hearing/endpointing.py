"""Where an utterance begins and ends in a stream of samples: takes pieces, gives each utterance as soon as it is over.

The end is not waited for by the recogniser's silence. After a short quiet the utterance is finished on trial: is it a
whole sentence that hardly goes on, it is given out; else its words are kept while the quiet lasts, and given out when
it has lasted long enough for them. Is more said, all is heard again from its start, which costs a fraction of the time
it took to say and is made up for while the speaker goes on.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from assistant.hearing.quiet import Quiet
from assistant.hearing.recogniser import Recogniser, Stream
from assistant.hearing.voice_activity import VoiceActivity, is_talk
from assistant.hearing.wav import SAMPLE_RATE_HZ
from assistant.utterance import Utterance

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# Heard from before speech was noticed: its soft beginning, and what voice activity needs to be sure.
BEFORE_S = 0.4
LONGEST_S = 20.0
# Of speech in wind at 5 dB, the loudest band stands 21 dB or more above its noise, and gusts alone 16 dB at most;
# speech in pink noise at 5 dB mostly 16 dB or more. Tuned on the tuning voices.
LEAST_HEADROOM_DB = 15.0
# Soft ends and beginnings drown in noise, and pauses seem longer than they are; the trial is made meanwhile.
CLEAR_HEADROOM_DB = 30.0
LONGER_IN_NOISE_S = 0.08
NOISE_OVER_S = 0.6
# The words lag behind the sound, and a long word keeps them standing: so much less counts than they stood.
WORDS_LATE_S = 0.8
# The recogniser has heard so much silence when it tells of it first (graph.py); that is known some 0.25 s later.
SILENCE_TOLD_AFTER_S = 0.09
# It is asked where loudness knows of no quiet, as in gusts; in steady noise it takes soft words for silence.
NOT_QUIET_S = 0.06
# Words that only the end made of what stood in the partial result ("swapped tank" of "swapped to", "changed the" of
# "changed to") wait for more.
UNSETTLED_S = 0.395
UNSETTLED_WHILE_LOUD_S = 0.70
# Where the words so far would do, the trial is made before the quiet that ends them is over: its outcome is there then.
TRIED_AFTER_S = 0.135

Needed = Callable[[tuple[str, ...]], float]
"""Seconds of quiet that must have passed after these words."""


class Endpointer:
    """Follows one microphone. `needed_s` says how much quiet ends which words, `first_s` is the least of it."""

    def __init__(self, ears: Recogniser, needed_s: Needed, *, first_s: float) -> None:
        self._ears = ears
        self._needed_s = needed_s
        self._first_s = first_s
        self._activity = VoiceActivity()
        self._quiet = Quiet()
        self._before: deque[NDArray[np.float32]] = deque()
        self._before_samples = 0
        self._open: _Open | None = None
        self._asked_of: tuple[str, ...] = ()
        self._does = False
        self.partial = ""

    @property
    def hearing(self) -> bool:
        """Whether an utterance has begun and is not over."""
        return self._open is not None

    def accept(self, samples: NDArray[np.float32]) -> Utterance | None:
        """The utterance that these samples ended, if they did; one without words is silence or noise."""
        self._activity.accept(samples)
        self._quiet.accept(samples)
        if self._open is None:
            self._remember(samples)
            if self._activity.heard_speech:
                self._begin()
            return None
        self.partial = self._open.accept(samples)
        return self._ended()

    def begin(self) -> None:
        """Begins an utterance now, as when a key is struck; what sounded before is not heard."""
        self._before.clear()
        self._before_samples = 0
        self._activity.restart()
        self._begin()

    def finish(self) -> Utterance | None:
        """Ends the utterance now, as when a key is let go; None where none had begun."""
        return None if self._open is None else self._given_out(self._open.finished())

    def drop(self) -> None:
        """Forgets the utterance in hand, and what was heard before it."""
        if self._open is not None:
            self._open.finished()
        self._reset()
        self._before.clear()
        self._before_samples = 0

    def _remember(self, samples: NDArray[np.float32]) -> None:
        self._before.append(samples)
        self._before_samples += len(samples)
        while self._before_samples - len(self._before[0]) >= BEFORE_S * SAMPLE_RATE_HZ:
            self._before_samples -= len(self._before.popleft())

    def _begin(self) -> None:
        self._quiet.restart()
        self._open = _Open(self._ears)
        for samples in self._before:
            self.partial = self._open.accept(samples)

    def _ended(self) -> Utterance | None:
        assert self._open is not None
        if self._open.tried is not None:
            return self._after_trial(self._open.tried)
        if self._open.seconds >= LONGEST_S:
            return self._given_out(self._open.finished())
        steady_s = self._steady_s()
        if steady_s < self._first_s:
            self._open.next_steady_s = 0.0
        quiet_s = self._quiet_s()
        quiet = quiet_s >= self._first_s or (quiet_s >= TRIED_AFTER_S and self._may_do())
        if not quiet and steady_s < max(self._first_s, self._open.next_steady_s):
            return None
        if not self._activity.heard_speech:
            return None
        if self._quiet.headroom_db < LEAST_HEADROOM_DB:
            self._leave_noise(max(quiet_s, steady_s))
            return None
        return self._tried() if quiet else self._tried_while_loud(steady_s)

    def _may_do(self) -> bool:
        """Whether the words so far, if no more come, are over after the least quiet."""
        assert self._open is not None
        words = tuple(self.partial.split())
        if words != self._asked_of:
            self._asked_of, self._does = words, self._needed_s(words) <= self._first_s
        return self._does

    def _tried(self) -> Utterance | None:
        """A trial in a quiet: what it hears is kept as long as the quiet lasts."""
        assert self._open is not None
        utterance = self._open.finished()
        needed_s = self._needed_s(utterance.best.words)
        if not self._settled(utterance):
            needed_s = max(needed_s, UNSETTLED_S)
        return self._after_trial(self._open.keep(utterance, needed_s))

    def _after_trial(self, tried: _Tried) -> Utterance | None:
        """Gives out what the trial heard when the quiet has lasted long enough; is the quiet over, hears all again."""
        assert self._open is not None
        soft_s = LONGER_IN_NOISE_S if self._noisy else 0.0
        if self._quiet_s() - soft_s >= tried.needed_s or self._open.seconds >= LONGEST_S:
            return self._given_out(self._open.finished())
        if self._quiet_s() < TRIED_AFTER_S:
            self._open.hear_again(next_steady_s=0.0)
        return None

    def _tried_while_loud(self, steady_s: float) -> Utterance | None:
        """A trial where it is loud but no word comes: not before the words so far would do, and not soon again."""
        assert self._open is not None
        if steady_s < self._needed_s(tuple(self.partial.split())):
            return None
        utterance = self._open.finished()
        needed_s = self._needed_s(utterance.best.words)
        if not self._settled(utterance):
            needed_s = max(needed_s, UNSETTLED_WHILE_LOUD_S)
        if steady_s >= needed_s:
            return self._given_out(utterance)
        self._open.hear_again(next_steady_s=needed_s)
        return None

    def _settled(self, utterance: Utterance) -> bool:
        """Whether the end changed nothing of what stood in the partial result."""
        return utterance.best.words == tuple(self.partial.split())

    @property
    def _noisy(self) -> bool:
        return self._quiet.headroom_db < CLEAR_HEADROOM_DB

    def _quiet_s(self) -> float:
        """How long it has been quiet, by loudness."""
        return min(self._quiet.quiet_s, self._activity.silence_s)

    def _steady_s(self) -> float:
        """How long no word has come, where loudness tells nothing of it."""
        assert self._open is not None
        silent_s = self._open.silent_s if self._quiet_s() < NOT_QUIET_S else 0.0
        return max(silent_s, self._open.stood_s - WORDS_LATE_S)

    def _leave_noise(self, quiet_s: float) -> None:
        """What stood so little above the noise was noise: forgotten, but for its end, in which speech may begin."""
        if quiet_s >= NOISE_OVER_S:
            assert self._open is not None
            last = self._open.last(BEFORE_S)
            self._open.finished()
            self._reset()
            self._before.clear()
            self._before.append(last)
            self._before_samples = len(last)

    def _given_out(self, utterance: Utterance) -> Utterance:
        talk = is_talk(self._activity.speech_s, len(utterance.best.words))
        self._reset()
        return utterance if talk else Utterance(seconds=utterance.seconds, engine=utterance.engine)

    def _reset(self) -> None:
        self._open = None
        self.partial = ""
        self._activity.restart()


@dataclass(frozen=True, slots=True)
class _Tried:
    """What a trial heard, and the quiet that ends it."""

    utterance: Utterance
    needed_s: float


class _Open:
    """An utterance in hand: the stream that hears it, and its samples, to be heard again after a trial.

    `tried`: its stream is finished, and what comes is quiet so far: it is kept and not heard.
    """

    def __init__(self, ears: Recogniser) -> None:
        self._ears = ears
        self._stream: Stream = ears.stream()
        self._samples: list[NDArray[np.float32]] = []
        self._count = 0
        self._partial = ""
        self._changed_at = 0
        self._silent_at: int | None = None
        self.next_steady_s = 0.0
        self.tried: _Tried | None = None
        self._tried_at = 0

    @property
    def seconds(self) -> float:
        return self._count / SAMPLE_RATE_HZ

    def accept(self, samples: NDArray[np.float32]) -> str:
        self._samples.append(samples)
        self._count += len(samples)
        if self.tried is not None:
            return self._partial
        partial = self._stream.accept(samples)
        if partial != self._partial:
            self._partial, self._changed_at = partial, self._count
        self._silent_at = (self._silent_at or self._count) if self._stream.silent else None
        return partial

    @property
    def stood_s(self) -> float:
        """How long the words have not changed; 0 where there are none."""
        return (self._count - self._changed_at) / SAMPLE_RATE_HZ if self._partial else 0.0

    @property
    def silent_s(self) -> float:
        """How long it has been silent to the recogniser; 0 where it hears a word, or cannot tell."""
        return (
            0.0 if self._silent_at is None else (self._count - self._silent_at) / SAMPLE_RATE_HZ + SILENCE_TOLD_AFTER_S
        )

    def last(self, seconds: float) -> NDArray[np.float32]:
        """The last samples."""
        import numpy as np

        last: NDArray[np.float32] = np.concatenate(self._samples)[-round(seconds * SAMPLE_RATE_HZ) :]
        return last

    def finished(self) -> Utterance:
        utterance = self._stream.finish() if self.tried is None else self.tried.utterance
        return replace(utterance, seconds=self.seconds)

    def keep(self, utterance: Utterance, needed_s: float) -> _Tried:
        """What the trial heard, as long as nothing more is."""
        self.tried, self._tried_at = _Tried(utterance, needed_s), self._count
        return self.tried

    def hear_again(self, *, next_steady_s: float) -> None:
        import numpy as np

        self.next_steady_s = next_steady_s
        tried, self.tried = self.tried, None
        self._stream = self._ears.stream()
        partial = self._stream.accept(np.concatenate(self._samples))
        if tried is not None:  # was it a gust and no word, it has been silent since the trial
            still = self._stream.silent and partial in (self._partial, tried.utterance.best.text)
            self._silent_at = self._tried_at if still else None
