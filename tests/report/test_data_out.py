"""Data out: a bundle that FHIR libraries accept, figures equal to the record's, and lines that come back whole."""

from __future__ import annotations

import csv
import json
from collections import Counter
from collections.abc import Iterator
from datetime import datetime, timezone
from io import StringIO
from pathlib import Path
from typing import Any

import pytest

from assistant.incident import events as ev
from assistant.incident.record import Record
from assistant.journal import Journal, read
from assistant.oxygen.kit import default_kit
from assistant.report.fhir import fhir_bundle
from assistant.report.lines import IncidentLines, LinesError, incident_from_lines, incident_lines
from assistant.report.summary import Summary, summarised
from assistant.report.written import FORMS, ReportError, from_lines, kit_of, summary_of, written

LOINC_OF = {
    "oxygen_saturation": "59408-5",
    "heart_rate": "8867-4",
    "respiratory_rate": "9279-1",
    "systolic": "8480-6",
    "diastolic": "8462-4",
}


@pytest.fixture(scope="module")
def bundle(summary: Summary) -> dict[str, Any]:
    return json.loads(json.dumps(fhir_bundle(summary)))


def observations(bundle: dict[str, Any]) -> list[dict[str, Any]]:
    resources = [entry["resource"] for entry in bundle["entry"]]
    return [resource for resource in resources if resource["resourceType"] == "Observation"]


def test_two_fhir_libraries_accept_it(bundle: dict[str, Any]) -> None:
    """fhirclient's models are R4 (4.0.1); fhir.resources' nearest are R4B, the same for these resources."""
    r4 = pytest.importorskip("fhirclient.models.bundle")
    r4b = pytest.importorskip("fhir.resources.R4B.bundle")
    assert len(r4.Bundle(bundle, strict=True).entry) == len(bundle["entry"])
    assert len(r4b.Bundle.model_validate(bundle).entry) == len(bundle["entry"])


@pytest.mark.parametrize("harm", [{"status": None}, {"valueQuantity": 96}, {"effectiveDateTime": "yesterday"}])
def test_the_libraries_would_refuse_a_wrong_one(bundle: dict[str, Any], harm: dict[str, Any]) -> None:
    r4b = pytest.importorskip("fhir.resources.R4B.observation")
    good = next(each for each in observations(bundle) if "valueQuantity" in each)
    r4b.Observation.model_validate(good)
    bad = {name: value for name, value in {**good, **harm}.items() if value is not None}
    with pytest.raises(ValueError, match="validation error"):
        r4b.Observation.model_validate(bad)


def test_a_bundle_without_a_clock_or_oxygen_is_accepted_too() -> None:
    r4b = pytest.importorskip("fhir.resources.R4B.bundle")
    events: list[ev.Event] = [
        ev.NoteMade(at_s=0, text="arrived"),
        ev.DrillCued(at_s=0, cue="begun"),
        ev.VitalNoted(at_s=1, patient="2", sign="diastolic", value=70),
        ev.DeviceFitted(at_s=2, patient="2", device="venturi_mask", oxygen_percent=28),
        ev.VitalNoted(at_s=9, patient="2", sign="oxygen_saturation", value=90),
        ev.GaugeRead(at_s=3, cylinder="1", value=12.5, unit="MPa", pressure_bar=125.0),
    ]
    r4b.Bundle.model_validate(fhir_bundle(summarised(list(enumerate(events, start=1)), default_kit())))


def coded(resource: dict[str, Any]) -> Iterator[tuple[str, float, str]]:
    """(LOINC code, value, UCUM code) of an observation and of its components."""
    for part in (resource, *resource.get("component", ())):
        if "valueQuantity" in part and "coding" in part["code"]:
            assert part["valueQuantity"]["system"] == "http://unitsofmeasure.org"
            assert part["code"]["coding"][0]["system"] == "http://loinc.org"
            yield part["code"]["coding"][0]["code"], part["valueQuantity"]["value"], part["valueQuantity"]["code"]


def test_the_bundles_figures_are_the_records(bundle: dict[str, Any], incident: IncidentLines, summary: Summary) -> None:
    gone = {n for _, event in incident.events if isinstance(event, ev.Withdrawn) for n in event.numbers}
    standing = [event for number, event in incident.events if number not in gone]
    told = Counter(each for resource in observations(bundle) for each in coded(resource))
    units = {"oxygen_saturation": "%", "systolic": "mm[Hg]", "diastolic": "mm[Hg]"}
    recorded = Counter(
        (LOINC_OF[event.sign], event.value, units.get(event.sign, "/min"))
        for event in standing
        if isinstance(event, ev.VitalNoted) and event.sign in LOINC_OF
    )
    assert recorded
    assert Counter({each: n for each, n in told.items() if each[0] in LOINC_OF.values()}) == recorded
    flows = [event.flow_l_min for event in standing if isinstance(event, ev.FlowSet)]
    alone = [
        r["valueQuantity"]["value"]
        for r in observations(bundle)
        if r["code"].get("coding", [{}])[0].get("code") == "3151-8"
    ]
    assert sorted(alone) == sorted(flows)
    by_text = {
        text: [r for r in observations(bundle) if r["code"].get("text") == text]
        for text in ("Cylinder gauge pressure", "Oxygen given, by flow set and time")
    }
    gauges = [event.value for event in standing if isinstance(event, ev.GaugeRead)]
    assert sorted(r["valueQuantity"]["value"] for r in by_text["Cylinder gauge pressure"]) == sorted(gauges)
    (given,) = by_text["Oxygen given, by flow set and time"]
    assert given["valueQuantity"]["value"] == pytest.approx(summary.litres, abs=0.05)
    alerts = [event for event in standing if isinstance(event, ev.AlertRaised)]
    assert sum(r["code"].get("text", "").startswith("Alert,") for r in observations(bundle)) == len(alerts)


def test_every_moment_is_the_records(bundle: dict[str, Any], incident: IncidentLines) -> None:
    began = datetime.fromisoformat(incident.began)
    seconds = {(datetime.fromisoformat(r["effectiveDateTime"]) - began).total_seconds() for r in observations(bundle)}
    recorded = {event.at_s for _, event in incident.events}
    assert seconds <= recorded


def test_loinc_codes_end_in_their_check_digit(bundle: dict[str, Any]) -> None:
    """LOINC codes end in a mod-10 check digit (LOINC users' guide), which catches a mistyped one."""
    codes = {code for resource in observations(bundle) for code, _, _ in coded(resource)}
    codes |= {"3150-0", "85354-9", "2708-6"}
    assert len(codes) >= 8
    for code in codes:
        digits, check = code.split("-")
        doubled = "".join(str(int(d) * 2) if n % 2 == 0 else d for n, d in enumerate(reversed(digits)))
        assert (10 - sum(map(int, doubled)) % 10) % 10 == int(check), code


def test_every_reference_points_into_the_bundle(bundle: dict[str, Any]) -> None:
    addresses = [entry["fullUrl"] for entry in bundle["entry"]]
    assert len(set(addresses)) == len(addresses)
    referred = set(_references(bundle))
    assert referred
    assert referred <= set(addresses)


def _references(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        if isinstance(value.get("reference"), str):
            yield value["reference"]
        for each in value.values():
            yield from _references(each)
    elif isinstance(value, list):
        for each in value:
            yield from _references(each)


def test_no_name_of_a_patient_is_in_it(bundle: dict[str, Any]) -> None:
    patients = [e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == "Patient"]
    assert [set(patient) for patient in patients] == [{"resourceType", "identifier"}]


def test_the_csv_holds_every_value_of_the_record(incident: IncidentLines, summary: Summary) -> None:
    rows = list(csv.DictReader(StringIO(written("csv", summary, incident).decode(), newline="")))
    vitals = [(float(r["at_s"]), r["name"], r["value"]) for r in rows if r["kind"] == "vital_noted"]
    assert vitals == [(e.at_s, e.sign, str(e.value)) for _, e in incident.events if isinstance(e, ev.VitalNoted)]
    gauges = [(r["cylinder"], float(r["value"]), r["unit"]) for r in rows if r["kind"] == "gauge_read"]
    assert gauges == [(e.cylinder, e.value, e.unit) for _, e in incident.events if isinstance(e, ev.GaugeRead)]
    assert [r["number"] for r in rows if r["withdrawn"]] == [
        str(n) for _, e in incident.events if isinstance(e, ev.Withdrawn) for n in e.numbers
    ]


def test_a_note_in_the_csv_is_no_formula() -> None:
    record = Record(number=1, wall="", event=ev.NoteMade(at_s=0, text="=HYPERLINK(1)"))
    kept = IncidentLines(began="", kit="", records=(record,))
    assert "'=HYPERLINK(1)" in written("csv", summary_of(kept), kept).decode()


def test_lines_that_come_back_give_the_same_report_in_every_form(incident: IncidentLines, tmp_path: Path) -> None:
    path = tmp_path / "incident.jsonl"
    path.write_bytes(written("jsonl", summary_of(incident), incident))
    again = from_lines(path)
    assert again == incident
    for form in FORMS:
        assert written(form, summary_of(again), again) == written(form, summary_of(incident), incident)


def test_a_journal_and_its_lines_give_the_same_report(incident: IncidentLines, tmp_path: Path) -> None:
    journal = Journal.create(tmp_path, kit=incident.kit)
    journal.append([record.event for record in incident.records])
    journal.close()
    stored = read(journal.path)
    lines = "".join(f"{line}\n" for line in incident_lines(stored.records, began=stored.began, kit=stored.kit))
    again = incident_from_lines(lines)
    assert again.records == stored.records
    for form in ("html", "spoken", "fhir", "csv", "jsonl"):
        assert written(form, summary_of(again), again) == written(form, summary_of(stored), stored)


HEAD = '{"type": "incident", "version": 1, "began": "2031-05-04T09:30:00+01:00", "kit": ""}\n'
FLOW = '{"number": 1, "kind": "flow_set", "at_s": 4.0, "patient": "1", "flow_l_min": 15.0}\n'


def test_a_last_line_cut_off_is_dropped_and_said() -> None:
    lines = incident_from_lines(HEAD + FLOW + FLOW[:40], source="x.jsonl")
    assert len(lines.records) == 1
    assert lines.notices == ("x.jsonl: line 3, the last, was cut off and dropped",)
    assert incident_from_lines(HEAD + FLOW).notices == ()
    assert len(incident_from_lines(HEAD + FLOW.rstrip()).records) == 1  # whole, only its line end is missing


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("", "there is no incident in it"),
        ("dear all\n", "line 1: this is no JSON"),
        (FLOW, "line 1: an incident begins with"),
        (HEAD.replace('"version": 1', '"version": 9'), "line 1: version 9; this one reads version 1"),
        (HEAD.replace("2031-05-04T09:30:00+01:00", "this morning"), "line 1: began is a time"),
        (HEAD.replace("+01:00", ""), "line 1: began is a time"),
        (HEAD + "{]\n" + FLOW, "line 2: this is no JSON"),
        (HEAD + FLOW.replace("15.0", '"much"'), "line 2: flow_set: flow_l_min is no finite number"),
        (HEAD + FLOW.replace("15.0", "NaN"), "line 2: flow_set: flow_l_min is no finite number"),
        (HEAD + FLOW.replace("flow_set", "flow_guessed"), "line 2: 'flow_guessed' is no kind of event"),
        (HEAD + FLOW + FLOW, "line 3: number 1 where 2 comes next"),
        (HEAD + "[]\n", "line 2: an event is a JSON object"),
    ],
)
def test_lines_that_are_no_incident_are_refused_by_line(text: str, line: str) -> None:
    with pytest.raises(LinesError) as error:
        incident_from_lines(text, source="x.jsonl")
    assert line in str(error.value)
    assert "\n" not in str(error.value)


def test_files_that_cannot_be_read_are_refused_in_one_line(tmp_path: Path) -> None:
    with pytest.raises(ReportError, match="cannot be read"):
        from_lines(tmp_path / "nowhere.jsonl")
    (tmp_path / "x.jsonl").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(ReportError, match="not a text file"):
        from_lines(tmp_path / "x.jsonl")
    with pytest.raises(ReportError, match="the kit on record"):
        kit_of(IncidentLines(began="", kit="reserv = 1", records=()))


def test_times_are_those_of_the_place_wherever_the_report_is_made(incident: IncidentLines) -> None:
    """The record began at 09:30 by the clock of the place, which is 08:30 UTC."""
    assert incident.began.endswith("09:30:00.000+01:00")
    assert summary_of(incident).clock(0) == "09:30"
    assert summary_of(incident, zone=timezone.utc).clock(0) == "08:30"
