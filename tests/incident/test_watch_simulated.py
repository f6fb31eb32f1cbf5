"""A few simulated incidents of the benchmark: every true crossing is announced before it happens."""

from __future__ import annotations

from pathlib import Path

import pytest

BENCHMARK = Path(__file__).parents[1] / "benchmarks" / "watch"


@pytest.mark.slow
@pytest.mark.parametrize("family", ["rule", "gas", "real"])
def test_no_crossing_goes_unannounced(family: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(BENCHMARK))
    from simulation import played

    incidents = [played(seed, family) for seed in range(200_000, 200_020)]
    crossed = [c for incident in incidents for c in incident.crossed]
    assert len(crossed) > 20
    assert all(c.announced for c in crossed)
