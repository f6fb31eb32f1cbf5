"""The two-hour incident that the reports are tested on: a smoke-inhalation patient on a marsh island, the boat late."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from assistant.oxygen.kit import Kit
from assistant.report.lines import IncidentLines, incident_from_lines
from assistant.report.summary import Summary, summarised

MARSH = Path(__file__).with_name("marsh_island.jsonl")


@pytest.fixture(scope="session")
def incident() -> IncidentLines:
    """The incident as its lines tell it."""
    return incident_from_lines(MARSH.read_text(encoding="utf-8"), source=MARSH.name)


@pytest.fixture(scope="session")
def summary(incident: IncidentLines) -> Summary:
    """The same, summarised."""
    return summarised(incident.events, Kit.from_toml(incident.kit), began=datetime.fromisoformat(incident.began))
