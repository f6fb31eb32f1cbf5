"""An incident that grew event by event stands where the fold of all its events stands, whatever was taken back."""

from __future__ import annotations

from random import Random

import pytest

from assistant.incident import events as ev
from assistant.incident import log
from assistant.incident.fold import folded
from assistant.incident.log import Incident
from assistant.oxygen.kit import default_kit


def _next_events(random: Random, incident: Incident) -> list[ev.Event]:
    """What a turn might append: values now, values from earlier, withdrawals of one or two of the last or of any."""
    at_s = incident.state.at_s + random.choice((0.0, 1.0, 20.0))
    psi = random.randrange(300, 2000, 10)
    values: list[ev.Event] = [
        ev.GaugeRead(at_s=at_s, cylinder=random.choice("12"), value=psi, unit="psi", pressure_bar=psi * 0.0689476),
        ev.FlowSet(at_s=at_s, patient="1", flow_l_min=random.choice((2.0, 10.0))),
        ev.CylinderSized(at_s=at_s, cylinder=random.choice("12"), size=random.choice("DE")),
        ev.CylinderChanged(at_s=at_s, cylinder=random.choice("12"), patient="1"),
        ev.VitalNoted(at_s=at_s, patient="1", sign="heart_rate", value=random.randrange(60, 120)),
    ]
    made = random.sample(values, random.randrange(1, 3))
    count = len(incident.events)
    if count and random.random() < 0.3:
        last = random.randrange(max(0, count - random.choice((4, 4, 100))), count)
        replaced = ev.FlowSet(at_s=incident.events[last].at_s, patient="1", flow_l_min=6.0)
        made = [ev.Withdrawn(at_s=at_s, numbers=(last + 1,)), *random.choice(([], [replaced]))]
    return made


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize(("every", "most"), [(1, 3), (5, 4), (log.KEPT_EVERY, log.MOST_KEPT)])
def test_the_state_is_that_of_the_whole_fold(monkeypatch: pytest.MonkeyPatch, seed: int, every: int, most: int) -> None:
    monkeypatch.setattr(log, "KEPT_EVERY", every)
    monkeypatch.setattr(log, "MOST_KEPT", most)
    random, incident = Random(seed), Incident(default_kit())
    for step in range(41):
        new = _next_events(random, incident)
        foreseen = incident.state_after(new)
        incident.append(new)
        assert incident.state == foreseen
        if step % 5 == 0:
            assert incident.state == folded(default_kit(), enumerate(incident.events, start=1))
    assert Incident(default_kit(), incident.events).state == incident.state
