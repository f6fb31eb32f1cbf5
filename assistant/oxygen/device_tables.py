"""What is printed about each delivery device: flows, oxygen percentages, least flows, each with its source."""

from __future__ import annotations

from dataclasses import dataclass

BRUNNER = "Brunner & Suddarth, Medical-Surgical Nursing, 15th ed. (2022), oxygen devices table"
FPNOTEBOOK = "Family Practice Notebook, low flow oxygen (after AHA PALS 1997 and SCCM FCCS 2016)"
THERAPEUTIC = "Therapeutic Guidelines (Australia), respiratory"
WHO_SARI = "OpenCriticalCare / WHO SARI toolkit, oxygen delivery devices"
AUERBACH = "Auerbach, Wilderness Medicine, oxygen administration"
RULE_OF_3 = "5 Minute Airway, supplemental oxygen (rule of three)"
EMR = "Emergency Medical Responder: First on Scene, 9th ed."
NREMT = "NREMT study pages"
GEEKY = "Geeky Medics, oxygen delivery devices"
AARC_2002 = "AARC clinical practice guideline 2002 (from memory)"
NURSING = "nursing reference sheet"
DECK = "respiratory study deck"
RCH = "wording of the Royal Children's Hospital Melbourne guideline, second hand"
BTS = "BTS emergency oxygen guideline 2017 (flows as taught for it)"
PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """One source: at flows from `flow_l_min` (low, high) the patient breathes `percent` (low, high) of oxygen."""

    flow_l_min: tuple[float, float]
    percent: tuple[float, float]
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastFlow:
    """One source's least flow, in L/min."""

    flow_l_min: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """A delivery device: the flows it is used at (low, high) and by whom, what is printed, and the least flows."""

    name: str
    spoken: str
    flow_l_min: tuple[float, float]
    flow_source: str
    printed: tuple[Printed, ...]
    least: tuple[LeastFlow, ...] = ()
    reservoir: bool = False
    mask: bool = False


def _p(low: float, high: float, percent_low: float, percent_high: float, source: str) -> Printed:
    return Printed(flow_l_min=(low, high), percent=(percent_low, percent_high), source=source)


def _steps(percents: tuple[tuple[float, float], ...], source: str) -> tuple[Printed, ...]:
    """One row for each whole litre from 1."""
    return tuple(_p(flow, flow, low, high, source) for flow, (low, high) in enumerate(percents, start=1))


CANNULA = Device(
    name="nasal_cannula",
    spoken="nasal cannula",
    flow_l_min=(0.5, 6.0),
    flow_source=WHO_SARI,
    printed=(
        *_steps(((24, 24), (28, 28), (32, 32), (36, 36), (40, 40), (44, 44)), BRUNNER),
        *_steps(((24, 25), (28, 29), (32, 33), (36, 37), (40, 41), (44, 45)), FPNOTEBOOK),
        *_steps(((24, 24), (27, 27), (30, 30), (33, 33), (36, 36), (39, 39)), RULE_OF_3),
        _p(1, 4, 24, 35, THERAPEUTIC),
        _p(0.5, 6, 21, 45, WHO_SARI),
        _p(2, 6, 25, 40, AUERBACH),
        _p(1, 6, 24, 44, PRACTICE),
    ),
)
SIMPLE_MASK = Device(
    name="simple_mask",
    spoken="simple mask",
    flow_l_min=(5.0, 15.0),
    flow_source=f"{THERAPEUTIC}; up to 15: {PRACTICE}",
    printed=(
        _p(5, 8, 40, 60, BRUNNER),
        _p(5, 10, 35, 60, THERAPEUTIC),
        _p(6, 10, 44, 50, WHO_SARI),
        _p(5, 10, 30, 40, GEEKY),
        _p(5, 10, 35, 50, AARC_2002),
        _p(6, 15, 35, 55, PRACTICE),
    ),
    least=(
        LeastFlow(flow_l_min=4, source=RCH),
        LeastFlow(flow_l_min=5, source=BRUNNER),
        LeastFlow(flow_l_min=6, source=NREMT),
    ),
    mask=True,
)
PARTIAL_REBREATHER = Device(
    name="partial_rebreather",
    spoken="partial rebreather",
    flow_l_min=(6.0, 15.0),
    flow_source=NURSING,
    printed=(
        _p(6, 15, 60, 75, NURSING),
        _p(6, 10, 40, 60, DECK),
        _p(10, 15, 50, 60, RULE_OF_3),
    ),
    least=(LeastFlow(flow_l_min=6, source=NURSING),),
    reservoir=True,
    mask=True,
)
NON_REBREATHER = Device(
    name="non_rebreather",
    spoken="non-rebreather",
    flow_l_min=(10.0, 15.0),
    flow_source=BRUNNER,
    printed=(
        _p(10, 15, 80, 95, BRUNNER),
        _p(10, 15, 60, 90, NREMT),
        _p(15, 15, 60, 95, f"{THERAPEUTIC} (prints: above 60)"),
        _p(10, 20, 60, 80, WHO_SARI),
        _p(10, 15, 60, 90, PRACTICE),
    ),
    least=(LeastFlow(flow_l_min=6, source=AUERBACH),),
    reservoir=True,
    mask=True,
)
VENTURI_MASK = Device(
    name="venturi_mask",
    spoken="venturi mask",
    flow_l_min=(2.0, 15.0),
    flow_source=BTS,
    printed=(),
    mask=False,
)
BAG_VALVE_MASK = Device(
    name="bag_valve_mask",
    spoken="bag valve mask",
    flow_l_min=(15.0, 25.0),
    flow_source=f"{EMR}, p. 180 (15 at the least); upper end: {PRACTICE}",
    printed=(),
    least=(LeastFlow(flow_l_min=15, source=EMR),),
    reservoir=True,
)
DEVICES = {
    device.name: device
    for device in (CANNULA, SIMPLE_MASK, PARTIAL_REBREATHER, NON_REBREATHER, VENTURI_MASK, BAG_VALVE_MASK)
}
# Oxygen flow for each venturi valve: BTS colours as taught; 31 and 50 are sold but not in that list.
VENTURI_FLOW_L_MIN: dict[int, tuple[float, float]] = {
    24: (2.0, 3.0),
    28: (4.0, 6.0),
    35: (8.0, 10.0),
    40: (10.0, 12.0),
    60: (12.0, 15.0),
}
