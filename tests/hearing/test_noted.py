"""Spoken notes: their words come from a free decoding, and nothing else is decoded freely."""

from __future__ import annotations

import pytest

from assistant.hearing.noted import noted
from assistant.utterance import Hypothesis, Utterance


def _heard(*texts: str) -> Utterance:
    return Utterance(hypotheses=tuple(Hypothesis(words=tuple(text.split())) for text in texts), seconds=1.0)


@pytest.mark.parametrize(
    ("heard", "free", "found"),
    [
        ("note the patient too to pills", "note the patient took two pills", "note the patient took two pills"),
        ("okay make a note [unk] arm", "make a note pain in the arm", "okay make a note pain in the arm"),
        ("note pain", "no pain", "note pain"),
        ("note pain", "note", "note pain"),
    ],
)  # fmt: skip
def test_the_free_words_follow_the_grammars_note(heard: str, free: str, found: str) -> None:
    utterance = noted(_heard(heard, "no"), lambda: Hypothesis(words=tuple(free.split())))
    assert [h.text for h in utterance.hypotheses] == [found, "no"]


@pytest.mark.parametrize("heard", ["gauge reads fifteen hundred", "note", ""])
def test_what_is_no_note_is_not_decoded_freely(heard: str) -> None:
    def never() -> Hypothesis:
        raise AssertionError("decoded freely")

    utterance = _heard(heard) if heard else Utterance(seconds=1.0)
    assert noted(utterance, never) is utterance
