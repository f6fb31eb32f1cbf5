"""The spoken hand-over: within forty seconds, whole clauses, and no figure that is mistaken for a neighbour."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.app import Session, SetClock, setting_for
from assistant.dialogue.turn import Turn
from assistant.incident import events as ev
from assistant.incident.state import State
from assistant.meaning.typed import typed
from assistant.meaning.understand import understand
from assistant.oxygen.kit import default_kit
from assistant.report.spoken import MOST_WORDS, spoken
from assistant.report.summary import Summary, summarised
from assistant.report.written import ORDERS

MOST_S = 40.0


@pytest.mark.parametrize("order", ORDERS)
def test_it_is_said_within_forty_seconds(summary: Summary, order: str, tmp_path: Path) -> None:
    """Measured on the sound of the assistant's own voice."""
    import soundfile

    from assistant.speaking.mouth import open_mouth

    told = spoken(summary, order)  # type: ignore[arg-type]
    open_mouth().save(told, tmp_path / "told.wav")
    assert soundfile.info(tmp_path / "told.wav").duration < MOST_S


def test_it_says_what_matters(summary: Summary) -> None:
    told = spoken(summary)
    for part in (
        "one patient",
        "about sixty, male",
        "zero nine three zero",
        "smoke from a reed fire",
        "nine six percent",
        "first eight four",
        "nasal cannula, four litres a minute",
        "one zero five two litres",
        "forty four minutes to reserve",
        "bottle two, two one litres",
        "Seven alerts",
    ):
        assert part in told, part


def test_a_note_is_cut_between_clauses_only(summary: Summary) -> None:
    told = spoken(summary)
    assert "hoarse voice, more in the notes." in told
    assert not re.search(r"\bno\.", told)


SIGNS = st.fixed_dictionaries(
    {
        "oxygen_saturation": st.integers(50, 100),
        "heart_rate": st.integers(30, 220),
        "respiratory_rate": st.integers(4, 60),
        "systolic": st.integers(50, 250),
        "diastolic": st.integers(30, 150),
    }
)


@settings(max_examples=40, deadline=None)
@given(signs=st.lists(SIGNS, min_size=1, max_size=9), flow=st.sampled_from([0.5, 4, 15]), text=st.text(max_size=200))
def test_it_is_short_and_in_words_whatever_is_on_record(signs: list[dict[str, int]], flow: float, text: str) -> None:
    events: list[ev.Event] = [ev.NoteMade(at_s=0, text=f"mechanism {text}")]
    for number, of_one in enumerate(signs, start=1):
        name = str(number)
        events += [ev.VitalNoted(at_s=5, patient=name, sign=sign, value=value) for sign, value in of_one.items()]
        events += [
            ev.CylinderChanged(at_s=6, cylinder=name, patient=name),
            ev.DeviceFitted(at_s=7, patient=name, device="non_rebreather"),
            ev.FlowSet(at_s=8, patient=name, flow_l_min=flow),
        ]
    for order in ORDERS:
        told = spoken(summarised(list(enumerate(events, start=1)), default_kit(), until_s=3600), order)
        assert len(told.split()) <= MOST_WORDS
        if not re.search(r"\d", text):
            assert not re.search(r"\d", told)


def test_unknown_is_said_to_be_unknown() -> None:
    bare = summarised([(1, ev.FlowSet(at_s=0, patient="1", flow_l_min=4))], default_kit(), until_s=60)
    told = spoken(bare)
    for part in ("Age not recorded.", "Saturation not recorded.", "device not recorded", "time left not known"):
        assert part in told, part


def many(count: int) -> Summary:
    """Patients one to `count`, each on a bottle of their own, with saturations that tell them apart."""
    events: list[ev.Event] = []
    for number in range(1, count + 1):
        name = str(number)
        events += [
            ev.CylinderChanged(at_s=6, cylinder=name, patient=name),
            ev.DeviceFitted(at_s=7, patient=name, device="non_rebreather"),
            ev.FlowSet(at_s=8, patient=name, flow_l_min=15),
            ev.VitalNoted(at_s=9, patient=name, sign="oxygen_saturation", value=90 + number),
        ]
    return summarised(list(enumerate(events, start=1)), default_kit(), until_s=600)


@pytest.mark.parametrize("order", ORDERS)
def test_of_many_patients_the_next_one_s_report_is_offered(order: str) -> None:
    """As long as another is offered and asked for, all are told of, each once, whoever's turn it is."""
    told = spoken(many(6), order)  # type: ignore[arg-type]
    assert told.startswith("Hand-over, six patients.")
    assert len(told.split()) <= MOST_WORDS
    (offered,) = re.findall(r"Say: give me the report for patient (\w+)\.", told)
    names = ("one", "two", "three", "four", "five", "six")
    assert re.findall(r"Patient (\w+)\.", told)[: names.index(offered)] == list(names[: names.index(offered)])
    fifth = spoken(many(6), order, patient="5")  # type: ignore[arg-type]
    assert "Patient five." in fifth
    assert "nine five percent" in fifth
    assert "Bottle five in use" in fifth
    assert not {"four", "six"} & set(re.findall(r"(?:Patient|Bottle) (\w+)", fifth))


def test_what_is_offered_can_be_said() -> None:
    setting = setting_for(default_kit())
    (offer,) = re.findall(r"Say: (give me .*)\.", spoken(many(6)))
    readings = understand(typed(offer, setting.grammar), setting.grammar, setting.kit)
    assert [question.about for question in readings[0].meanings] == ["report"]  # type: ignore[union-attr]
    assert not set(offer.split()) - set(setting.grammar.words())


def test_a_patient_who_is_not_on_record_is_said_to_be_so() -> None:
    assert spoken(many(2), patient="7") == "Patient seven is not on record."


def test_the_report_of_one_patient_is_asked_for_in_the_conversation() -> None:
    class NoScreen:
        def show_turn(self, turn: Turn, state: State) -> None: ...
        def show_alert(self, alert: ev.AlertRaised, state: State) -> None: ...
        def show_prompt(self, at_s: float, say: str, state: State) -> None: ...

    session = Session(setting_for(default_kit()), SetClock(), NoScreen(), events=many(3).events)
    reply = session.hear(typed("patient two, hand over report", session.setting.grammar)).reply
    assert "Patient two." in reply
    assert "nine two percent" in reply
    assert "Patient one" not in reply
