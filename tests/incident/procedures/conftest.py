"""A rescuer at state level: short words become meanings, values go in force, and the procedure follows."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import pytest

from assistant.incident import procedures as pr
from assistant.incident.events import (
    CylinderChanged,
    CylinderSized,
    DeviceFitted,
    Event,
    FlowSet,
    GaugeRead,
    ProblemReported,
)
from assistant.incident.fold import after
from assistant.incident.procedure_steps import ProcedureStep
from assistant.incident.state import State
from assistant.incident.walk import step_in_hand
from assistant.meaning import kinds as k
from assistant.oxygen.kit import Kit, default_kit
from assistant.quantity import Measure, convert

FILES = Path(__file__).parents[3] / "grammars" / "procedures"


def texts() -> dict[str, str]:
    return {path.name: path.read_text(encoding="utf-8") for path in sorted(FILES.glob("*.toml"))}


def _words(line: str, state: State) -> k.Meaning:
    """The meaning of one phrase of a script: "gauge 1900", "flow 10", "skip no time", "start set_up at gauge"."""
    first, _, rest = line.partition(" ")
    match first:
        case "yes" | "no":
            return k.Answer(yes=first == "yes")
        case "gauge":
            value, _, unit = rest.partition(" ")
            return k.GaugeReading(pressure=Measure(value=float(value), unit=unit or "psi"))
        case "bottle":
            name, value = rest.split(" gauge ")
            return k.GaugeReading(cylinder=name, pressure=Measure(value=float(value), unit="psi"))
        case "flow":
            return k.FlowRate(flow=Measure(value=float(rest), unit="L/min"))
        case "device":
            return k.DeliveryDevice(device=rest)
        case "size":
            return k.CylinderSize(size=rest)
        case "swapped":
            return k.CylinderChange(cylinder=rest)
        case "problem":
            return k.Problem(what=rest)
        case "where":
            return k.Question(about="next_step")
        case "left":
            return k.Question(about="steps_left")
        case "start":
            procedure, _, at = rest.partition(" at ")
            named = procedure if not rest.startswith("at ") else ""
            return k.Step(
                move="start", procedure=named or None, at=at or rest.removeprefix("at ") if " at " in line else None
            )
        case "skip":
            return k.Step(move="skip", reason=rest or None)
        case _:
            return k.Step(move=first)


def _event(meaning: k.Meaning, state: State, at_s: float) -> Event | None:
    match meaning:
        case k.GaugeReading():
            bar = convert(meaning.pressure.value, meaning.pressure.unit, "bar")
            name = meaning.cylinder or state.cylinder
            return GaugeRead(
                at_s=at_s, cylinder=name, value=meaning.pressure.value, unit=meaning.pressure.unit, pressure_bar=bar
            )
        case k.FlowRate():
            return FlowSet(at_s=at_s, patient=state.patient, flow_l_min=meaning.flow.value)
        case k.DeliveryDevice():
            return DeviceFitted(at_s=at_s, patient=state.patient, device=meaning.device)
        case k.CylinderSize():
            return CylinderSized(at_s=at_s, cylinder=state.cylinder, size=meaning.size)
        case k.CylinderChange():
            return CylinderChanged(at_s=at_s, cylinder=meaning.cylinder or "2", patient=state.patient)
        case k.Problem():
            return ProblemReported(at_s=at_s, what=meaning.what)
        case _:
            return None


@dataclass(kw_only=True)
class Rescuer:
    """Plays phrases against the procedures; keeps the state, every event and what was said last."""

    procedures: Mapping[str, pr.Procedure]
    state: State
    at_s: float = 0.0
    events: list[Event] = field(default_factory=list)
    move: pr.Move | None = None

    @property
    def step(self) -> str | None:
        return self.state.procedure.step if self.state.procedure else None

    @property
    def place(self) -> tuple[str, str] | None:
        here = self.state.procedure
        return (here.procedure, here.step) if here else None

    @property
    def said(self) -> str:
        return " ".join(self.move.say) if self.move else ""

    def _force(self, events: tuple[Event, ...]) -> None:
        for event in events:
            self.events.append(event)
            self.state = after(self.state, len(self.events), event)

    def says(self, line: str, *, sure: bool = True, after_s: float = 5.0) -> pr.Move | None:
        """One breath; phrases are parted by commas. The clock moves on by `after_s` first."""
        self.at_s += after_s
        before = self.state
        meanings = tuple(_words(part.strip(), before) for part in line.split(","))
        self._force(tuple(e for m in meanings if (e := _event(m, before, self.at_s)) is not None))
        self.move = self._move(before, meanings, sure)
        self._force(self.move.events if self.move else ())
        return self.move

    def _move(self, before: State, meanings: tuple[k.Meaning, ...], sure: bool) -> pr.Move | None:
        for meaning in meanings:
            if isinstance(meaning, k.Problem):
                return pr.trouble(self.procedures, self.state, meaning, self.at_s)
        for meaning in meanings:
            if isinstance(meaning, k.Step | k.Question):
                return pr.moved(self.procedures, self.state, meaning, self.at_s, sure=sure, meanings=meanings)
        return pr.told(self.procedures, before, self.state, meanings, self.at_s, sure=sure)

    def waits(self, seconds: float) -> pr.Move | None:
        """Time passes in silence."""
        self.at_s += seconds
        self.move = pr.due(self.procedures, self.state, self.at_s)
        self._force(self.move.events if self.move else ())
        return self.move

    def goes_to(self, step: str, **answers: str) -> Rescuer:
        """Says what each step wants until `step` is in hand; `answers` are by step, "yes" or a value as said."""
        for _ in range(80):
            if self.step == step:
                return self
            here = step_in_hand(self.procedures, self.state)
            assert here is not None, f"{step} was never reached"
            self.says(answers.get(here.name) or usual(here), after_s=40.0)
        raise AssertionError(f"{step} was never reached; at {self.place}")

    def finishes(self, **answers: str) -> Rescuer:
        """Says what each step wants until no procedure is in hand."""
        for _ in range(200):
            here = step_in_hand(self.procedures, self.state)
            if here is None:
                return self
            self.says(answers.get(here.name) or usual(here), after_s=40.0)
        raise AssertionError(f"never finished; at {self.place}")


def usual(step: ProcedureStep) -> str:
    """What is said at a step when all is well."""
    match step.asks:
        case "answer":
            return step.usual or ("no" if step.yes_trouble else "yes")
        case "gauge_reading":
            return "gauge 1900" if not step.many else "done"
        case "flow_rate":
            return "flow 10"
        case "delivery_device":
            return "device non_rebreather"
        case "cylinder_size":
            return "size D"
        case _:
            return "done"


@pytest.fixture(scope="session")
def procedures() -> Mapping[str, pr.Procedure]:
    return pr.load_procedures(texts())


@pytest.fixture
def rescuer(procedures: Mapping[str, pr.Procedure]) -> Callable[..., Rescuer]:
    """`rescuer("start set_up", fitting="yoke", valve="key", device=None)`: a fresh one, with phrases said already."""

    def made(*lines: str, fitting: str = "yoke", valve: str = "key", kit: Kit | None = None) -> Rescuer:
        kit = replace(kit or default_kit(), fitting=fitting, valve=valve)
        one = Rescuer(procedures=procedures, state=State(kit=kit))
        for line in lines:
            one.says(line)
        return one

    return made
