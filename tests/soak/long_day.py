"""What is said in eight hours of one incident: a made-up truth of cylinders and flows, and a rescuer who tells of it.

Takes a seed and the recordings; gives lines as `replay` takes them, in order of time. A line is typed, spoken
(a recording without pressures or flows, which would not be true here), noise, or nothing but time passing.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random

LITRES_PER_PSI = 0.28  # size E, the handbook factor
FULL_PSI, CHANGE_AT_PSI = 2000.0, 350.0
FLOWS_L_MIN = (2, 4, 6, 8, 10)
SPOKEN_KINDS = {"vital_sign", "question", "alarm_heard", "time_to_handover", "target_saturation", "temperature"}
CHATTER = (
    *("how long have we got", "what's the pressure now", "alarm heard", "what can i say", "latest vitals", "say again"),
    *(
        "sats 94, pulse 96",
        "sats 91",
        "respiratory rate 22",
        "blood pressure 124/78",
        "patient is alert",
        "boat in 2 hours",
    ),
    *("note the tide is coming in", "temperature 12 degrees", "altitude 30 metres", "correction", "undo", "yes", "no"),
    *("start readiness check", "done", "next", "stop", "it's hissing", "help", "where are the sandwiches", "1500"),
    *("patient two sats 95", "patient one", "target 94 to 98", "what flow lasts until the boat", "give me the report"),
)


@dataclass(slots=True)
class _World:
    """The cylinder in use and what is left in it."""

    cylinder: int = 1
    psi: float = FULL_PSI
    flow_l_min: int = 4

    def after(self, seconds: float) -> None:
        self.psi -= self.flow_l_min * seconds / 60 / LITRES_PER_PSI


def recordings(folder: Path) -> tuple[Path, ...]:
    """The recordings that may be played at any time."""
    manifest = (json.loads(line) for line in (folder / "manifest.jsonl").read_text(encoding="utf-8").splitlines())
    return tuple(folder / one["file"] for one in manifest if _fits(one["meanings"]))


def _fits(meanings: list[dict[str, object]]) -> bool:
    return bool(meanings) and all(meaning["kind"] in SPOKEN_KINDS for meaning in meanings)


def long_day(seed: int, hours: float, spoken: tuple[Path, ...]) -> Iterator[dict[str, object]]:
    """The lines of the day."""
    chance, world, at_s = Random(seed), _World(), 0.0
    yield {"at_s": 0.0, "text": "large cylinder, gauge reads 2000, nasal cannula at 4 litres"}
    while at_s < hours * 3600:
        passed_s = chance.uniform(5, 40)
        at_s += passed_s
        world.after(passed_s)
        yield {"at_s": round(at_s, 2), **_next_line(world, chance, spoken)}


def _next_line(world: _World, chance: Random, spoken: tuple[Path, ...]) -> dict[str, object]:
    if world.psi < CHANGE_AT_PSI:
        world.cylinder, world.psi = world.cylinder + 1, FULL_PSI
        return {"text": f"changed to cylinder {world.cylinder}, large cylinder, gauge reads 2000"}
    what = chance.random()
    if what < 0.12:
        return {"text": f"gauge reads {round(world.psi, -1):.0f}"}
    if what < 0.16:
        world.flow_l_min = chance.choice(FLOWS_L_MIN)
        return {"text": f"flow {world.flow_l_min} litres"}
    if what < 0.22:
        return {"wait": True}
    if what < 0.27:
        return {"noise": chance.randrange(1 << 30)}
    if what < 0.5:
        return {"wav": str(chance.choice(spoken))}
    return {"text": chance.choice(CHATTER)}
