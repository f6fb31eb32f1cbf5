"""The incident in which an utterance is heard: what is known before it, drawn so that it does not give it away.

The truth is what the speaker says. The readings before it are what a gauge, a regulator and an oximeter would have
shown some minutes earlier: the gauge to its nearest mark and off by its error, the flow off by the regulator's.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass

from corpora import Item, seed_of
from spoken_numbers import FLOWS_L_MIN

from assistant.app import setting_for
from assistant.dialogue.turn import Setting
from assistant.incident import events as ev
from assistant.incident.log import Incident
from assistant.oxygen.kit import default_kit
from assistant.quantity import convert

FACTOR_L_PER_PSI = {"D": 0.16, "E": 0.28}  # the default kit's, as the contract gives them
GAUGE_MARK_PSI = 50
GAUGE_SD_PSI = 40.0  # about half of what a class 2.5 gauge of 4000 psi may be off (EN 837-1)
FLOW_SD = 0.1  # half of the 20 % that ISO 10524-1 is remembered to allow (from memory)
FULL_PSI = 2200
SATURATION_SD, SATURATION_FALL_SHARE = 3.0, 0.1
RATE_SD = 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """When the utterance is heard, and the incident as it stands then."""

    incident: Incident
    at_s: float


def default_setting() -> Setting:
    """The default kit, with the grammar and procedures for it."""
    return setting_for(default_kit())


def fresh(setting: Setting) -> Heard:
    """Nothing is known yet."""
    return Heard(incident=Incident(setting.kit), at_s=1.0)


def running(item: Item, setting: Setting) -> Heard:
    """Some minutes into an incident, its events in line with what the item's speaker is about to say."""
    rng = random.Random(seed_of("incident", item.name))
    at_s = rng.uniform(180, 1500)
    events = sorted(_events(item, rng, at_s), key=lambda event: event.at_s)
    return Heard(incident=Incident(setting.kit, events), at_s=at_s)


def _said(item: Item, kind: str, sign: str = "") -> float | None:
    """The value of that kind in what is about to be said; None where there is none."""
    for meaning in item.means:
        if meaning["kind"] == kind and meaning.get("sign", "") == sign:
            measure = meaning.get("pressure") or meaning.get("flow")
            if measure:
                return (
                    convert(measure["value"], measure["unit"], "psi") if kind == "gauge_reading" else measure["value"]
                )
            return meaning.get("value")
    numbers = [m["value"] for m in item.means if m["kind"] == "number"]
    return numbers[0] if numbers and kind == "gauge_reading" else None


def _events(item: Item, rng: random.Random, at_s: float) -> Iterator[ev.Event]:
    size = rng.choice(("D", "E"))
    flow = rng.choice(FLOWS_L_MIN[2:])
    device = "nasal_cannula" if flow <= 6 else "non_rebreather"
    yield ev.CylinderSized(at_s=1.0, cylinder="1", size=size)
    yield ev.CylinderChanged(at_s=2.0, cylinder="1", patient="1")
    yield ev.DeviceFitted(at_s=5.0, patient="1", device=device)
    yield ev.FlowSet(at_s=6.0, patient="1", flow_l_min=flow)
    yield from _vitals(item, rng)
    yield ev.HandoverExpected(at_s=60.0, handover_at_s=rng.uniform(1800, 7200))
    corrects = any(m["kind"] == "correction" for m in item.means)
    read_s = at_s - 20 if corrects else rng.uniform(65.0, at_s - 100)
    yield _reading(item, rng, read_s, at_s, flow / FACTOR_L_PER_PSI[size], corrects)
    if corrects and _said(item, "flow_rate") is not None:
        yield ev.FlowSet(at_s=at_s - 10, patient="1", flow_l_min=rng.choice(FLOWS_L_MIN[2:]))
    if any(m["kind"] == "step" and m["move"] != "start" for m in item.means):
        yield ev.ProcedureMoved(at_s=at_s - 60, procedure="set_up", move="started", step=None)
    if any(m["kind"] == "alarm_heard" for m in item.means):
        yield ev.AlertRaised(at_s=at_s - 5, alert="reserve_near", priority="medium", say="Reserve near.", cylinder="1")


def _reading(
    item: Item, rng: random.Random, read_s: float, at_s: float, psi_per_min: float, corrects: bool
) -> ev.GaugeRead:
    """The gauge some minutes before; where the item corrects it, what was misheard for it."""
    now_psi = _said(item, "gauge_reading")
    if now_psi is None:
        now_psi = rng.uniform(300, 1900)
    used = psi_per_min * (at_s - read_s) / 60 * (1 + rng.gauss(0, FLOW_SD))
    before = (
        now_psi + rng.choice((-300, -200, 100, 300, 500)) if corrects else now_psi + used + rng.gauss(0, GAUGE_SD_PSI)
    )
    psi = float(min(max(round(before / GAUGE_MARK_PSI), 4) * GAUGE_MARK_PSI, max(FULL_PSI, now_psi)))
    bar = convert(psi, "psi", "bar")
    return ev.GaugeRead(at_s=read_s, cylinder="1", value=psi, unit="psi", pressure_bar=bar)


def _vitals(item: Item, rng: random.Random) -> Iterator[ev.Event]:
    saturation = _said(item, "vital_sign", "oxygen_saturation")
    before = rng.uniform(86, 97) if saturation is None else saturation + rng.gauss(0, SATURATION_SD)
    if rng.random() < SATURATION_FALL_SHARE:
        before += rng.uniform(5, 15)
    yield ev.VitalNoted(at_s=20.0, patient="1", sign="oxygen_saturation", value=round(min(max(before, 60), 100)))
    for place, sign in enumerate(("heart_rate", "respiratory_rate")):
        said = _said(item, "vital_sign", sign)
        usual = {"heart_rate": 95.0, "respiratory_rate": 22.0}[sign]
        drawn = round((usual if said is None else said) + rng.gauss(0, RATE_SD))
        yield ev.VitalNoted(at_s=21.0 + place, patient="1", sign=sign, value=max(drawn, 4))
