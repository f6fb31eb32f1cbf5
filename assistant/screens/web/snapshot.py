"""What the page shows of an incident at a moment, as one JSON object. Takes the state and a time; decides nothing."""

from __future__ import annotations

from math import isfinite
from typing import Any

from assistant.dialogue.asking import asked_in_words
from assistant.dialogue.readback import DEVICE_SAID
from assistant.dialogue.supply_now import SupplyNow, supplies
from assistant.dialogue.turn import Setting
from assistant.incident.state import Alert, State
from assistant.incident.walk import step_in_hand
from assistant.oxygen.supply import spoken_minutes
from assistant.quantity import convert
from assistant.screens.supply_line import pressure_shown

_LACKING = {"cylinder_size": "size", "gauge_reading": "gauge reading", "flow_rate": "flow"}
_WORST_FIRST = ("high", "medium", "low")


def snapshot(state: State, at_s: float, due_s: float, setting: Setting, trouble: str | None) -> dict[str, Any]:
    """Everything on the page but the conversation and the curves. `due_s`: when the next alert is foreseen."""
    return {
        "type": "state",
        "at_s": round(at_s, 1),
        "supplies": [_supply(now, state, at_s) for now in supplies(state, at_s) if now.patient is not None],
        "handover_min": None if state.handover_at_s is None else round((state.handover_at_s - at_s) / 60, 1),
        "next_alert_s": round(due_s - at_s) if isfinite(due_s) else None,
        "alert": _alert(state),
        "step": _step(state, setting),
        "question": _question(state),
        "vitals": _vitals(state, at_s),
        "trouble": trouble,
    }


def _supply(now: SupplyNow, state: State, at_s: float) -> dict[str, Any]:
    cylinder = state.cylinders[now.cylinder]
    patient = state.patients.get(now.patient or "")
    minutes = now.minutes
    known = minutes is not None and isfinite(minutes.expected)
    read_at_s = cylinder.read_at_s
    estimated = now.pressure is not None and read_at_s is not None and at_s > read_at_s
    return {
        "cylinder": now.cylinder,
        "patient": now.patient,
        "called": state.kit.called(cylinder.size) if cylinder.size else None,
        "size": cylinder.size,
        "minutes": spoken_minutes(minutes) if known and minutes is not None else None,
        "low": int(minutes.low) if known and minutes is not None else None,
        "high": int(minutes.high) if known and minutes is not None and isfinite(minutes.high) else None,
        "pressure": None if now.pressure is None else pressure_shown(now.pressure, estimated=estimated),
        "unit": None if now.pressure is None else now.pressure.unit,
        "estimated": estimated,
        "read_min": None if read_at_s is None else int((at_s - read_at_s) // 60),
        "reserve": f"{convert(state.kit.reserve_bar, 'bar', cylinder.unit or state.kit.pressure_unit):.0f}",
        "flow": None if now.flow_l_min is None else f"{now.flow_l_min:g}",
        "device": DEVICE_SAID[patient.device] if patient is not None and patient.device else None,
        "lacks": [_LACKING[each] for each in now.lacks],
    }


def _alert(state: State) -> dict[str, Any] | None:
    """The worst alert that nobody acknowledged, and how many more wait."""
    waiting = [alert for alert in state.alerts.values() if alert.acknowledged_at_s is None]
    if not waiting:
        return None
    worst: Alert = min(waiting, key=lambda each: (_WORST_FIRST.index(each.priority), -each.last_at_s))
    return {"priority": worst.priority, "kind": worst.alert, "more": len(waiting) - 1}


def _step(state: State, setting: Setting) -> dict[str, Any] | None:
    step = step_in_hand(setting.procedures, state)
    if step is None or state.procedure is None:
        return None
    procedure = setting.procedures[state.procedure.procedure]
    return {"procedure": procedure.title, "say": step.say, "caution": step.caution, "done": len(state.procedure.trail)}


def _question(state: State) -> str | None:
    pending = state.question
    if pending is None:
        return None
    return asked_in_words(pending, state)


_SIGN = {
    "oxygen_saturation": ("SpO₂", "%"), "heart_rate": ("pulse", "/min"), "respiratory_rate": ("breathing", "/min"),
    "consciousness": ("AVPU", ""),
}  # fmt: skip


def _vitals(state: State, at_s: float) -> list[dict[str, Any]]:
    patient = state.patients[state.patient]
    lead = f"patient {patient.name} " if len(state.patients) > 1 else ""
    shown = [(name, patient.vitals[sign], unit) for sign, (name, unit) in _SIGN.items() if sign in patient.vitals]
    return [
        {"name": f"{lead}{name}", "value": f"{vital.value}{unit}", "min": int((at_s - vital.at_s) // 60)}
        for name, vital, unit in shown
    ]
