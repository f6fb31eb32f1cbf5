"""A note that is nothing but a value: kept as it was said, and the value asked for."""

from __future__ import annotations

import pytest

from tests.dialogue.talking import Talk


def test_the_note_is_made_and_the_value_taken_by_a_yes(talk: Talk) -> None:
    turn = talk.types("note gauge reads 1350")
    assert (turn.outcome, turn.reply) == ("taken", "Noted: gauge reads 1350. Gauge one three five zero, yes or no?")
    assert talk.psi == 1500
    talk.types("yes")
    assert talk.psi == 1350


def test_several_values_are_confirmed_together(talk: Talk) -> None:
    turn = talk.types("for the record the boat is here in 40 minutes and her sats are 88")
    assert turn.reply.endswith("Hand-over in forty minutes, four zero; saturation eight eight percent, yes or no?")
    talk.types("no")
    assert talk.incident.state.handover_at_s is None


@pytest.mark.parametrize(
    "line",
    ["note she is very cold", "note he took two pills at 1500", "note saturation 140", "note sats were 88 at first"],
)
def test_other_notes_ask_nothing(talk: Talk, line: str) -> None:
    turn = talk.types(line)
    assert (turn.outcome, turn.asked) == ("taken", None)
