"""The hand-over for the ear: short sentences in the order of the mnemonic, within forty seconds.

Numbers are said as everywhere in a form that is not mistaken for a neighbour. What does not fit is left to the page:
the sentences are ranked, and the least needed are left out first; of many patients the later ones are told when asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import floor

from assistant.dialogue.numbers_said import digits, minutes_said, said
from assistant.dialogue.readback import DEVICE_SAID, cylinder_said, litres_said, patient_said, sentence, vital_said
from assistant.oxygen.supply import spoken_minutes
from assistant.report import words
from assistant.report.summary import CylinderSummary, PatientSummary, Summary

# Forty seconds at the voice's usual rate: our read-outs take 2.2 to 2.3 words a second, pauses between sentences
# included (tests/report/test_spoken.py measures the sound itself); two seconds are kept in hand.
MOST_WORDS = 84
_MOST_NOTE_WORDS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class _Said:
    """A sentence and how much it is needed: 0 always, then the higher the sooner left out."""

    text: str
    rank: int


def spoken(summary: Summary, order: words.Order = "ATMIST", *, patient: str | None = None) -> str:
    """What to say, as sentences: of all patients, or of the one named.

    Where not all patients can be told of in the time, it is the first ones, and the next one's report is offered.
    """
    chosen = [each for each in summary.patients if patient in (None, each.name)]
    if not chosen:
        return sentence(f"{patient_said(patient or '')} is not on record")
    kept: list[_Said] = []
    for count in range(len(chosen), 0, -1):
        first, last = _opening(summary, patient), [_offered(each) for each in chosen[count : count + 1]]
        room = MOST_WORDS - _length([first, *last])
        kept = [first, *_shortened_to(room, _of(summary, chosen[:count], order)), *last]
        if _length(kept) <= MOST_WORDS:
            break
    return " ".join(each.text for each in kept)


def _of(summary: Summary, patients: Sequence[PatientSummary], order: words.Order) -> list[_Said]:
    """Of these patients alone, with their cylinders and alerts, and those that are nobody's."""
    others = {each.name for each in summary.patients} - {each.name for each in patients}
    cylinders = tuple(each for each in summary.cylinders if each.patient not in others)
    theirs = {each.name for each in summary.cylinders} - {each.name for each in cylinders}
    alerts = tuple(each for each in summary.alerts if each.patient not in others and each.cylinder not in theirs)
    part = replace(summary, patients=tuple(patients), cylinders=cylinders, alerts=alerts)
    several = len(summary.patients) > 1
    return _atmist(part, several) if order == "ATMIST" else _sbar(part, several)


def _shortened_to(most_words: int, sentences: Sequence[_Said]) -> list[_Said]:
    """Without the least needed, as far as it takes; what is always needed stays."""
    kept = list(sentences)
    while _length(kept) > most_words and any(each.rank for each in kept):
        least = max(range(len(kept)), key=lambda index: (kept[index].rank, index))
        del kept[least]
    return kept


def _offered(patient: PatientSummary) -> _Said:
    """How to ask for the next one; the sentence is one of the grammar's."""
    name = patient_said(patient.name).lower()
    return _Said(text=sentence(f"say: give me the report for {name}"), rank=0)


def _length(sentences: list[_Said]) -> int:
    return sum(len(each.text.split()) for each in sentences)


def _atmist(summary: Summary, several: bool) -> list[_Said]:
    said_: list[_Said] = []
    for patient in summary.patients:
        said_ += _named(patient, several)
        said_ += [_field("age", patient, summary, 2)]
        said_ += [_time(summary)] if patient is summary.patients[0] else []
        said_ += [_field("mechanism", patient, summary, 2), _field("injuries", patient, summary, 2)]
        said_ += _signs(patient)
        said_ += _treatment(patient, summary)
    return [*said_, *_supplies(summary), *_alerts(summary)]


def _sbar(summary: Summary, several: bool) -> list[_Said]:
    said_: list[_Said] = []
    for patient in summary.patients:
        said_ += [*_named(patient, several), *_treatment(patient, summary)]
    said_.append(_time(summary))
    for patient in summary.patients:
        named = _named(patient, several)
        said_ += [*named, _field("age", patient, summary, 2), _field("mechanism", patient, summary, 2)]
        said_ += [_field("injuries", patient, summary, 2), *_signs(patient)]
    return [*said_, *_alerts(summary), *_supplies(summary)]


def _opening(summary: Summary, patient: str | None) -> _Said:
    count = len(summary.patients)
    exercise = "Drill, no real patient. " if summary.drill else ""
    whose = "one patient" if count == 1 else f"{said(count)} patients"
    if patient is not None and count > 1:
        whose = "one of " + whose
    return _Said(text=f"{exercise}Hand-over, {whose}.", rank=0)


def _named(patient: PatientSummary, several: bool) -> list[_Said]:
    return [_Said(text=sentence(patient_said(patient.name)), rank=0)] if several else []


def _field(field: str, patient: PatientSummary, summary: Summary, rank: int) -> _Said:
    noted = words.noted_in(field, patient, summary)
    if noted is None:
        return _Said(text=sentence(f"{field} not recorded"), rank=rank + 2)
    short = _shortened(noted)
    more = "" if short == noted else ", more in the notes"
    return _Said(text=sentence((short if short.lower().startswith(field) else f"{field}: {short}") + more), rank=rank)


def _shortened(noted: str) -> str:
    """Whole clauses of a note only: cut within one, "no burns" would end in "no"."""
    clauses = noted.replace(";", ",").split(",")
    kept = clauses[:1]
    for clause in clauses[1:]:
        if len(" ".join([*kept, clause]).split()) > _MOST_NOTE_WORDS:
            break
        kept.append(clause)
    return noted if len(kept) == len(clauses) else ",".join(kept)


def _time(summary: Summary) -> _Said:
    if summary.began is None:
        return _Said(text=sentence(f"began {minutes_said(summary.until_s / 60)} ago"), rank=1)
    return _Said(text=sentence(f"began at {digits(f'{summary.began:%H%M}')}"), rank=1)


def _signs(patient: PatientSummary) -> list[_Said]:
    points = patient.of("oxygen_saturation")
    if not points:
        told = [_Said(text="Saturation not recorded.", rank=1)]
    else:
        first = f", first {said(float(points[0].value))}" if len(points) > 1 else ""
        told = [_Said(text=sentence(vital_said("oxygen_saturation", points[-1].value) + first), rank=0)]
    for sign, rank in (("heart_rate", 1), ("respiratory_rate", 1)):
        point = patient.latest(sign)
        told += [_Said(text=sentence(vital_said(sign, point.value)), rank=rank)] if point else []
    upper, lower = patient.latest("systolic"), patient.latest("diastolic")
    if upper and lower:
        pressure = f"blood pressure {said(float(upper.value))} over {said(float(lower.value))}"
        told.append(_Said(text=sentence(pressure), rank=3))
    awake = patient.latest("consciousness")
    return [*told, _Said(text=sentence(vital_said("consciousness", awake.value)), rank=1)] if awake else told


def _treatment(patient: PatientSummary, summary: Summary) -> list[_Said]:
    now = patient.now
    if now is None:
        return [_Said(text="Oxygen not recorded.", rank=0)]
    device = DEVICE_SAID[now.device] if now.device else "device not recorded"
    if now.device and now.oxygen_percent:
        device += f" {said(now.oxygen_percent)} percent"
    flow = (
        "flow not recorded"
        if now.flow_l_min is None
        else "flow off"
        if not now.flow_l_min
        else (f"{litres_said(now.flow_l_min)} a minute")
    )
    told = [_Said(text=sentence(f"now {device}, {flow}"), rank=0)]
    if patient.litres >= 1:
        told.append(_Said(text=sentence(f"given, {said(floor(patient.litres))} litres"), rank=2))
    if patient.target:
        low, high = patient.target
        told.append(_Said(text=sentence(f"target {said(low)} to {said(high)}"), rank=4))
    return told


def _supplies(summary: Summary) -> list[_Said]:
    in_use = [_in_use(each) for each in summary.cylinders if each.patient]
    spare = [each for each in summary.cylinders if not each.patient and each.left_l and each.left_l >= 1]
    if not spare:
        return [*in_use, _Said(text="No other bottle above reserve on record.", rank=2)]
    named = " and ".join(f"{cylinder_said(each.name)}, {said(floor(each.left_l or 0))} litres" for each in spare)
    return [*in_use, _Said(text=sentence(f"also left, {named}"), rank=1)]


def _in_use(cylinder: CylinderSummary) -> _Said:
    name = cylinder_said(cylinder.name)
    if cylinder.minutes is None:
        return _Said(text=sentence(f"{name} in use, time left not known"), rank=0)
    whole = spoken_minutes(cylinder.minutes)
    lasting = f"about {minutes_said(whole)} to reserve" if whole > 0 else "at or below reserve"
    return _Said(text=sentence(f"{name} in use, {lasting}"), rank=0)


def _alerts(summary: Summary) -> list[_Said]:
    if not summary.alerts:
        return []
    waiting = [alert for alert in summary.alerts if alert.acknowledged_s is None]
    if waiting:
        names = " and ".join(dict.fromkeys(words.alert_name(alert.alert) for alert in waiting))
        return [_Said(text=sentence(f"alert open: {names}"), rank=1)]
    count = len(summary.alerts)
    return [_Said(text=sentence(f"{said(count)} alert{'' if count == 1 else 's'}, all acknowledged"), rank=2)]
