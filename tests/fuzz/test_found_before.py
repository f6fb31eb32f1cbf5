"""What bending and typing at random once brought to light, each as it was found, so that it stays mended."""

from __future__ import annotations

import pytest

from assistant.app import kit_from, setting_for
from assistant.dialogue.turn import Setting, Turn, take_turn
from assistant.incident.log import Incident
from assistant.meaning.typed import MOST_WORDS, typed
from tests.fuzz.readers import misread, readers


@pytest.fixture(scope="module")
def setting() -> Setting:
    return setting_for(kit_from(None))


def _turns(setting: Setting, *lines: str) -> list[Turn]:
    incident, turns = Incident(setting.kit), []
    for at_s, line in enumerate(lines):
        turns.append(take_turn(incident, typed(line, setting.grammar), float(at_s), setting))
        incident.append(turns[-1].events)
    return turns


@pytest.mark.parametrize(
    "lines",
    [
        ("temperature minus eighty", "gauge reads 1500", "small cylinder"),
        ("venturi mask 0 percent", "flow three litres"),
        ("venturi mask 2917.6",),
        ("cylinder 333.5 reads 1500",),
        ("10 litres for patient 0",),
    ],
)
def test_what_cannot_be_is_refused_or_asked_about(setting: Setting, lines: tuple[str, ...]) -> None:
    assert _turns(setting, *lines)[0].outcome in ("refused", "asked")


@pytest.mark.parametrize("numerals", ["１５００", "١٥٠٠", "१५००"])
def test_digits_of_any_script_are_digits(setting: Setting, numerals: str) -> None:
    (turn,) = _turns(setting, f"gauge reads {numerals}")
    assert turn.heard == "gauge reads fifteen hundred"
    assert turn.outcome == "taken"


@pytest.mark.parametrize("line", ["blood pressure 120 over 10²", "flow 2⅓ litres", "sats 9Ⅻ", "gauge reads ①⑤⓪⓪"])
def test_other_number_signs_are_not_made_out_to_be_numbers(setting: Setting, line: str) -> None:
    (turn,) = _turns(setting, line)
    assert turn.outcome == "ignored"


@pytest.mark.parametrize("line", ["right 7865f.6 litres", "flow.5 litres", "small cylinder.15 litres"])
def test_a_stop_between_a_letter_and_a_digit_is_no_point_and_no_end(setting: Setting, line: str) -> None:
    (turn,) = _turns(setting, line)
    assert turn.outcome == "ignored"


@pytest.mark.parametrize("line", ["½1", "flow 2½1 litres", "flow ½１", "flow ½.5 litres", "½½ litre"])
def test_nothing_is_written_on_to_a_half(setting: Setting, line: str) -> None:
    (turn,) = _turns(setting, line)
    assert turn.outcome == "ignored"


@pytest.mark.parametrize("line", ["the flow at decimal nought", "boat is seven point eight nil hours out"])
def test_nought_stands_after_a_point(setting: Setting, line: str) -> None:
    assert _turns(setting, line)[0].outcome == "taken" or _turns(setting, line)[0].asked


@pytest.mark.parametrize("line", ["a qularter of a litre", "boat in halpf an hour", "fist patient sats ninety"])
def test_nothing_is_repaired_to_a_part_or_an_ordinal(setting: Setting, line: str) -> None:
    assert _turns(setting, line)[0].outcome != "taken"


def test_a_pressure_of_two_cylinders_is_not_left_out_while_the_rest_is_taken(setting: Setting) -> None:
    (turn,) = _turns(setting, "bottle two is sixteen bar left on bottle one and sats are ninety three")
    assert turn.outcome != "taken" or [event.kind for event in turn.events if event.kind == "gauge_read"]


def test_a_second_patient_named_after_a_sign_is_not_lost(setting: Setting) -> None:
    (turn,) = _turns(setting, "b p on the first casualty says 146 on 85 for patient 8")
    assert turn.reply == "Patient one, systolic one four six. Diastolic eight five. Patient eight."


def test_changes_for_two_patients_are_two_changes(setting: Setting) -> None:
    (turn,) = _turns(setting, "switched to number five changed to the spare on patient three")
    assert [meaning.patient for meaning in turn.understood if meaning.kind == "cylinder_change"] == ["1", "3"]


def test_a_number_with_an_s_behind_it_is_neither_that_number_nor_nothing(setting: Setting) -> None:
    assert _turns(setting, "pulse one hundred seventy's")[0].outcome == "ignored"


@pytest.mark.parametrize(
    "line",
    [
        "patient two gauge reads fourteen hundred",
        "gauge reads fourteen hundred on patient two",
        "gauge 1400, patient two",
    ],
)
def test_a_gauge_said_of_a_patient_is_that_patients(setting: Setting, line: str) -> None:
    *_, turn = _turns(setting, "changed to cylinder two for patient two", "patient one", "gauge reads 2000", line)
    assert [event.cylinder for event in turn.events if event.kind == "gauge_read"] == ["2"]


def test_a_line_of_a_hundred_thousand_words_is_left_alone(setting: Setting) -> None:
    assert _turns(setting, "sats ninety four " * 50_000)[0].outcome == "ignored"
    assert typed("note " + "word " * (MOST_WORDS - 1), setting.grammar).hypotheses


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("kit", b'reserve = "200 ps]i"'),
        ("kit", b'reserve = "200nan bar"'),
        ("replay line", b'{"at_s": 1' + b"0" * 400 + b', "wait": true}'),
        ("replay line", b'{"at_s": ' + b"9" * 5000 + b', "wait": true}'),
        ("incident lines", b'{"version": ' + b"9" * 5000 + b"}\n"),
        ("event", b'{"kind": "gauge_read", "at_s": 0.0, "cylinder": "1", "value": ' + b"9" * 400 + b"}"),
        ("meaning", b'{"kind": "flow_rate", "flow": {"value": 1' + b"0" * 400 + b', "unit": "L/min"}}'),
    ],
)
def test_an_absurd_value_is_one_clear_line(name: str, content: bytes) -> None:
    reader = next(reader for reader in readers() if reader.name == name)
    assert misread(reader, content) is None
