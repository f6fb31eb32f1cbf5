"""What the tests of the conversation begin from: the default kit, and an incident that runs."""

from __future__ import annotations

import pytest

from assistant.app import setting_for
from assistant.dialogue.turn import Setting
from assistant.oxygen.kit import default_kit
from tests.dialogue.talking import Talk


@pytest.fixture(scope="session")
def setting() -> Setting:
    return setting_for(default_kit())


@pytest.fixture
def talk(setting: Setting) -> Talk:
    return Talk(setting, "gauge reads 1500", "small cylinder", "cannula at four")
