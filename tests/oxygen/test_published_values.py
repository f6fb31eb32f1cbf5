"""Every value of published.toml: ours agrees within what print rounds, or disagrees for the reason that is given."""

import pytest

from tests.oxygen.published_values import PublishedValue, published_values

VALUES = published_values()


@pytest.mark.parametrize("value", [v for v in VALUES if not v.disagrees], ids=lambda v: f"{v.what} ({v.source[:20]})")
def test_ours_agrees_with_print(value: PublishedValue) -> None:
    assert value.answer() == pytest.approx(value.printed, abs=value.within + 1e-9)


@pytest.mark.parametrize("value", [v for v in VALUES if v.disagrees], ids=lambda v: f"{v.what} ({v.source[:20]})")
def test_where_print_is_wrong_ours_differs_as_stated(value: PublishedValue) -> None:
    assert value.ours is not None
    assert value.answer() == pytest.approx(value.ours, rel=0.002)
    assert abs(value.answer() - value.printed) > value.within


def test_there_are_enough_values_and_sources() -> None:
    assert len(VALUES) >= 40
    assert len({value.source for value in VALUES if value.sure != "memory"}) >= 8
    worked = [value for value in VALUES if value.how.startswith(("minutes", "least")) and not value.disagrees]
    assert len(worked) >= 10
