"""A minute of the hour of sound that is nobody's speech: the ears take nothing of it."""

from __future__ import annotations

import os

import pytest

from assistant.app import kit_from, setting_for
from assistant.hearing.errors import HearingError
from assistant.hearing.recogniser import open_recogniser
from tests.fuzz.sound import BEFORE, played


@pytest.mark.slow
@pytest.mark.vosk
@pytest.mark.parametrize("while_", BEFORE)
def test_nothing_is_taken_of_a_minute_of_noise(while_: str) -> None:
    setting = setting_for(kit_from(None))
    try:
        ears = open_recogniser("vosk", setting.grammar)
    except HearingError as error:
        if os.environ.get("CI"):
            raise
        pytest.skip(str(error))
    found = played(1.0, 7, ears, setting, while_)
    assert sum(found.seconds.values()) >= 60
    assert found.taken == 0, found.told
