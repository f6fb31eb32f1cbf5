"""How the assistant is spoken to: takes what was heard and when, gives what was meant for it.

Three ways: an open microphone, a key (held or struck), a call word. Pure but for the state they keep; times in seconds.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import inf
from typing import Protocol

from assistant.hearing.call_word import called
from assistant.utterance import Utterance

# A button that is let go of: the last word is still being said.
LAST_WORD_S = 0.4
# After the call word alone, after a question, and after a key was struck, so long is waited for the first word.
WAITED_FOR_S = 8.0


class Address(Protocol):
    """What is for the assistant."""

    def listens(self, now_s: float) -> bool:
        """Whether samples are to be heard at all now."""
        ...

    def meant(self, utterance: Utterance, now_s: float) -> Utterance | None:
        """The utterance as it is to be taken; None where it is not for the assistant, or nothing is left of it."""
        ...

    def press(self, now_s: float) -> None:
        """A key was struck, or repeats because it is held."""
        ...

    def hold(self, now_s: float) -> None:
        """A button that tells when it is let go of is held from now on."""
        ...

    def let_go(self, now_s: float) -> None:
        """It is let go of: what is being said is heard to its end."""
        ...

    def turned(self, now_s: float) -> None:
        """The utterance was answered."""
        ...


class OpenMicrophone:
    """Everything is heard; what is not for the assistant is told apart by the grammar and the dialogue."""

    def listens(self, now_s: float) -> bool:
        return True

    def meant(self, utterance: Utterance, now_s: float) -> Utterance | None:
        return utterance if utterance.hypotheses else None

    def press(self, now_s: float) -> None:
        return

    def hold(self, now_s: float) -> None:
        return

    def let_go(self, now_s: float) -> None:
        return

    def turned(self, now_s: float) -> None:
        return


class TalkKey:
    """Heard once after a key was struck, and on while it is held; the end of what is said comes by itself.

    A terminal's key repeats while it is held and does not tell of its end; a button's hold has one.
    """

    def __init__(self) -> None:
        self._until_s = -1.0
        self._held = False

    def listens(self, now_s: float) -> bool:
        return now_s < self._until_s

    def meant(self, utterance: Utterance, now_s: float) -> Utterance | None:
        if not self._held:
            self._until_s = now_s
        return utterance if utterance.hypotheses else None

    def press(self, now_s: float) -> None:
        self._until_s = now_s + WAITED_FOR_S

    def hold(self, now_s: float) -> None:
        self._held, self._until_s = True, inf

    def let_go(self, now_s: float) -> None:
        self._held, self._until_s = False, now_s + LAST_WORD_S

    def turned(self, now_s: float) -> None:
        return


class CallWord:
    """Taken where it begins with the call word, or comes soon after it, after a question of ours, or after a key."""

    def __init__(self, call_word: Sequence[str], asked: Callable[[], bool], noticed: Callable[[], None]) -> None:
        self._call_word = tuple(call_word)
        self._asked = asked
        self._noticed = noticed
        self._until_s = -1.0
        self._held = False

    def listens(self, now_s: float) -> bool:
        return True

    def meant(self, utterance: Utterance, now_s: float) -> Utterance | None:
        with_call = called(utterance, self._call_word)
        if with_call is not None and not with_call.hypotheses:
            self.press(now_s)
            self._noticed()
            return None
        began_s = now_s - utterance.seconds
        if with_call is None and began_s > self._until_s:
            return None
        meant = utterance if with_call is None else with_call
        if not meant.hypotheses:
            return None
        if not self._held:
            self._until_s = now_s
        return meant

    def hold(self, now_s: float) -> None:
        self._held, self._until_s = True, inf

    def let_go(self, now_s: float) -> None:
        self._held, self._until_s = False, now_s + LAST_WORD_S

    def turned(self, now_s: float) -> None:
        """A question that was asked may be answered without the call word."""
        if self._asked() and not self._held:
            self.press(now_s)

    def press(self, now_s: float) -> None:
        self._until_s = now_s + WAITED_FOR_S
