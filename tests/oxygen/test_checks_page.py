"""The checks page in the repository is the one that its command writes now."""

from tests.benchmarks import checks_page
from tests.oxygen.published_values import published_values


def test_the_page_holds_the_values_of_today() -> None:
    written = checks_page.PAGE.read_text(encoding="utf-8")
    assert checks_page.values_part(published_values()) in written
    assert checks_page.sizes_part() in written
    assert checks_page.handbook_part() in written
    assert checks_page.calibration_part().split("\n\n")[0] in written
    assert checks_page.trips_part().split("\n\n")[0] in written
