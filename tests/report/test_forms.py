"""Every form tells the same, says what was not recorded, and takes nothing in the record for markup."""

from __future__ import annotations

import re
import zlib
from dataclasses import replace
from datetime import datetime, timezone
from html.parser import HTMLParser

import pytest

from assistant.incident import events as ev
from assistant.oxygen.kit import default_kit
from assistant.report.lines import IncidentLines
from assistant.report.sections import sections
from assistant.report.summary import Summary, summarised
from assistant.report.written import FORMS, ORDERS, written

PRINTED = ("terminal", "markdown", "html")
BEGAN = datetime(2031, 5, 4, 9, 30, tzinfo=timezone.utc)
NOTHING = IncidentLines(began="", kit="", records=())


def of(*events: ev.Event) -> Summary:
    return summarised(list(enumerate(events, start=1)), default_kit(), began=BEGAN)


def as_text(form: str, summary: Summary, order: str = "ATMIST") -> str:
    return written(form, summary, NOTHING, order).decode()  # type: ignore[arg-type]


def test_atmist_and_sbar_stand_in_their_order(summary: Summary) -> None:
    assert "".join(s.letter for s in sections(summary, "ATMIST")) == "ATMIST"
    assert "".join(s.letter for s in sections(summary, "SBAR")) == "SBAR"


@pytest.mark.parametrize("form", PRINTED)
@pytest.mark.parametrize("order", ORDERS)
def test_the_figures_are_in_every_printed_form(summary: Summary, form: str, order: str) -> None:
    text = as_text(form, summary, order)
    for told in ("152/91", "1052 L", "09:33", "11:30", "1400 psi", "nasal cannula", "oot around", "reed fire", "84"):
        assert told in text, told


@pytest.mark.parametrize("form", [*PRINTED, "spoken"])
def test_an_empty_record_says_what_was_not_recorded(form: str) -> None:
    text = as_text(form, of(ev.NoteMade(at_s=0, text="arrived"))).lower()
    text = re.sub(r"<style>.*</style>|<svg.*</svg>", "", text, flags=re.DOTALL)
    assert "not recorded" in text
    assert "none" not in text.replace("none raised", "")
    assert not re.search(r"\bnan\b|\binf\b", text)


@pytest.mark.parametrize("form", FORMS)
def test_no_form_fails_on_a_bare_record(form: str) -> None:
    bare = [
        of(),
        of(ev.FlowSet(at_s=0, patient="2", flow_l_min=0)),
        of(ev.CylinderSized(at_s=5, cylinder="x", size="D")),
        of(ev.VitalNoted(at_s=5, patient="1", sign="systolic", value=90)),
        replace(of(ev.TargetSet(at_s=1, patient="1", low=88, high=92)), began=None),
    ]
    for summary in bare:
        for order in ORDERS:
            assert written(form, summary, NOTHING, order) or form in ("csv",)


def test_several_patients_are_told_by_number() -> None:
    two = of(
        ev.VitalNoted(at_s=5, patient="1", sign="oxygen_saturation", value=97),
        ev.VitalNoted(at_s=9, patient="2", sign="oxygen_saturation", value=89),
        ev.NoteMade(at_s=10, text="age about thirty", patient="2"),
    )
    for form in PRINTED:
        text = as_text(form, two)
        assert "Patient 1: not recorded" in text
        assert "Patient 2: about thirty" in text
    assert "Patient two." in as_text("spoken", two)


@pytest.mark.parametrize("form", ["terminal", "markdown", "html", "spoken", "radio"])
def test_an_exercise_is_told_to_be_one_first(form: str) -> None:
    text = as_text(form, of(ev.DrillCued(at_s=0, cue="begun", seed=1)))
    assert re.search(r"drill|exercise", text[: text.find("atient")] if form != "html" else text, re.IGNORECASE)


class Seen(HTMLParser):
    """What a browser would make of the page."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.addresses: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.addresses += [value or "" for name, value in attrs if name in ("src", "href", "data", "action")]


HOSTILE = '<script>alert("x")</script> <img src=https://example.org/x> [bold] | `code` \\ & end'


def test_the_page_fetches_nothing_and_runs_nothing(summary: Summary) -> None:
    seen = Seen()
    seen.feed(as_text("html", of(ev.NoteMade(at_s=0, text=HOSTILE), *summary.events)))
    assert seen.addresses == []
    assert not seen.tags & {"script", "img", "link", "iframe", "object"}
    assert {"svg", "table", "polyline", "circle"} <= seen.tags
    assert "url(" not in as_text("html", summary)


def test_words_of_the_record_are_no_markup_anywhere() -> None:
    hostile = of(ev.NoteMade(at_s=0, text=HOSTILE))
    assert "<script>" not in as_text("markdown", hostile)
    assert "\\<script\\>" in as_text("markdown", hostile)
    assert "[bold]" in as_text("terminal", hostile)


def pages(pdf: bytes) -> int:
    return len(re.findall(rb"/Type /Page\b", pdf))


@pytest.mark.parametrize("order", ORDERS)
def test_two_hours_are_one_page(summary: Summary, order: str) -> None:
    pdf = written("pdf", summary, NOTHING, order)  # type: ignore[arg-type]
    assert pdf.startswith(b"%PDF-")
    assert pages(pdf) == 1


def test_a_day_is_more_pages_rather_than_less_said(summary: Summary) -> None:
    notes = [ev.NoteMade(at_s=9000.0 + n, text=f"note {n} " + "word " * 60, patient="1") for n in range(60)]
    patients = [
        ev.VitalNoted(at_s=9100.0 + n, patient=str(n % 6 + 1), sign="oxygen_saturation", value=90 + n % 9)
        for n in range(200)
    ]
    assert pages(written("pdf", of(*summary.events, *notes, *patients), NOTHING)) > 1


def shown(pdf: bytes) -> bytes:
    """What the pages draw, unpacked."""
    return b"".join(zlib.decompress(stream) for stream in re.findall(rb"stream\n(.*?)\nendstream", pdf, re.DOTALL))


def test_a_pdf_puts_other_letters_plainly_and_says_so() -> None:
    foreign = of(ev.NoteMade(at_s=0, text="bottle Баллон 東 Łódź Øst ﬁne ≥"))
    drawn = shown(written("pdf", foreign, NOTHING)).decode("windows-1252")
    assert "bottle Ballon Dong Lódz Øst fine >=" in drawn
    assert "written here in plain letters" in drawn
    western = shown(written("pdf", of(ev.NoteMade(at_s=0, text="bottle Øst")), NOTHING)).decode("windows-1252")
    assert "plain letters" not in western


def test_the_same_record_gives_the_same_bytes(summary: Summary) -> None:
    for form in ("html", "pdf", "fhir", "markdown"):
        assert written(form, summary, NOTHING) == written(form, summary, NOTHING)


def test_a_long_table_says_what_it_left_out(summary: Summary) -> None:
    text = as_text("html", summary)
    assert "Vital signs (14 of 24 rows, all in the data files)" in text
    lowest = "<td>84</td>"
    assert lowest in text
