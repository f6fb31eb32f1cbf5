"""How the assistant is spoken to: takes what was heard and when, gives what was meant for it.

Three ways: an open microphone, a key (held or struck), a call word. Pure but for the state they keep; times in seconds.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import inf
from typing import Protocol

from assistant.hearing.call_word import called
from assistant.utterance import Utterance

# A key or button that is let go of: the last word is still being said.
LAST_WORD_S = 0.4
# One that is let go of so soon was struck, and not held.
STRUCK_WITHIN_S = 0.35
# A terminal's key that is held repeats: ten times a second and more, after half a second; it is let go of when it does
# so no more. Over a network the repeats come unevenly. Nobody strikes a key three times so fast.
REPEATS_WITHIN_S = 0.15
REPEATS_NO_MORE_S = 0.35
REPEATS_OF_A_HELD_KEY = 2
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


class _Pressed:
    """A key struck, repeating or held, and for how long after it the ears are open: `until_s`.

    A terminal's key repeats while it is held and mostly does not tell of its end; a button's hold has one.
    """

    def __init__(self) -> None:
        self.until_s = -1.0
        self.held = False
        self._held_at_s = 0.0
        self._struck_at_s = -inf
        self._repeats = 0

    def press(self, now_s: float) -> None:
        """Struck, or repeated."""
        gap_s, self._struck_at_s = now_s - self._struck_at_s, now_s
        repeating = self._repeats >= REPEATS_OF_A_HELD_KEY
        goes_on = gap_s < (REPEATS_NO_MORE_S if repeating else REPEATS_WITHIN_S)
        self._repeats = self._repeats + 1 if goes_on else 0
        if self._repeats >= REPEATS_OF_A_HELD_KEY:
            self.until_s = now_s + REPEATS_NO_MORE_S + LAST_WORD_S
        else:
            self.open(now_s)

    def open(self, now_s: float) -> None:
        """Opens the ears for a first word."""
        if not self.held:
            self.until_s = now_s + WAITED_FOR_S

    def hold(self, now_s: float) -> None:
        """Held from now on, or still."""
        if not self.held:
            self.held, self._held_at_s, self.until_s = True, now_s, inf

    def let_go(self, now_s: float) -> None:
        """The hold is over; a short one was a stroke."""
        struck = now_s - self._held_at_s < STRUCK_WITHIN_S
        self.held, self.until_s = False, now_s + (WAITED_FOR_S if struck else LAST_WORD_S)

    def taken(self, now_s: float) -> None:
        """Something was said: a stroke is used up by it, a hold is not."""
        if not self.held:
            self.until_s = now_s


class TalkKey:
    """Heard once after a key was struck, and on while it is held; the end of what is said comes by itself."""

    def __init__(self) -> None:
        self._key = _Pressed()

    def listens(self, now_s: float) -> bool:
        return now_s < self._key.until_s

    def meant(self, utterance: Utterance, now_s: float) -> Utterance | None:
        self._key.taken(now_s)
        return replace(utterance, addressed=True) if utterance.hypotheses else None

    def press(self, now_s: float) -> None:
        self._key.press(now_s)

    def hold(self, now_s: float) -> None:
        self._key.hold(now_s)

    def let_go(self, now_s: float) -> None:
        self._key.let_go(now_s)

    def turned(self, now_s: float) -> None:
        return


class CallWord:
    """Taken where it begins with the call word, or comes soon after it, after a question of ours, or after a key."""

    def __init__(self, call_word: Sequence[str], asked: Callable[[], bool], noticed: Callable[[], None]) -> None:
        self._call_word = tuple(call_word)
        self._asked = asked
        self._noticed = noticed
        self._key = _Pressed()

    def listens(self, now_s: float) -> bool:
        return True

    def meant(self, utterance: Utterance, now_s: float) -> Utterance | None:
        with_call = called(utterance, self._call_word)
        if with_call is not None and not with_call.hypotheses:
            self._key.open(now_s)
            self._noticed()
            return None
        began_s = now_s - utterance.seconds
        if with_call is None and began_s > self._key.until_s:
            return None
        meant = utterance if with_call is None else with_call
        if not meant.hypotheses:
            return None
        self._key.taken(now_s)
        return replace(meant, addressed=True)

    def hold(self, now_s: float) -> None:
        self._key.hold(now_s)

    def let_go(self, now_s: float) -> None:
        self._key.let_go(now_s)

    def turned(self, now_s: float) -> None:
        """A question that was asked may be answered without the call word."""
        if self._asked() and not self._key.held:
            self._key.open(now_s)

    def press(self, now_s: float) -> None:
        self._key.press(now_s)
