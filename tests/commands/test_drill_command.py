"""The drill from the command line, and one played well by a trainee who types what the cues call for."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from assistant.app import SetClock, setting_for
from assistant.cli import main
from assistant.commands.drill_session import DrillSession
from assistant.dialogue.turn import Setting
from assistant.incident import drill as dr
from assistant.journal import read
from assistant.meaning.typed import typed
from assistant.oxygen.kit import default_kit

OPENING = [
    {"at_s": 8, "text": "small cylinder"},
    {"at_s": 18, "text": "non rebreather at 15 litres"},
    {"at_s": 25, "text": "boat in seventy minutes"},
]


def _script(folder: Path, lines: Sequence[object]) -> str:
    path = folder / "drill.jsonl"
    path.write_text("".join(f"{json.dumps(line)}\n" for line in lines), encoding="utf-8")
    return str(path)


def test_a_replayed_drill_ends_with_its_score(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    script = _script(tmp_path, [*OPENING, {"at_s": 900, "wait": True}])
    assert main(["drill", "--seed", "3", "--json", "--replay", script]) == 0
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    prompts = [line["say"] for line in lines if line["type"] == "prompt"]
    assert prompts[0] == "Drill: This is a drill. Marsh island, one patient, smoke."
    assert prompts[-1] == "Drill: The drill is over."
    score = lines[-1]
    assert (score["type"], score["seed"], score["ended_at_s"]) == ("score", 3, 900.0)
    good = {line["what"]: line["seconds"] for line in score["lines"] if line["good"]}
    assert good == {"size told": 8.0, "flow told": 18.0, "device told": 18.0, "boat told": 25.0}
    assert next(line for line in score["lines"] if line["what"] == "leak reported")["seconds"] is None


def test_the_same_seed_tells_the_same_drill(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    script = _script(tmp_path, [{"at_s": 900, "wait": True}])
    shown = []
    for seed in ("5", "5", "6"):
        assert main(["drill", "--seed", seed, "--replay", script]) == 0
        shown.append(capsys.readouterr().out)
    assert shown[0] == shown[1]
    assert shown[0] != shown[2]


def test_the_record_is_kept_and_marked_as_a_drill(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    script = _script(tmp_path, OPENING)
    folder = tmp_path / "kept"
    assert main(["drill", "--seed", "4", "--replay", script, "--record", str(folder)]) == 0
    (path,) = folder.glob("*.sqlite")
    assert str(path) in capsys.readouterr().err
    events = [record.event for record in read(path).records]
    assert dr.seed_of(events) == 4
    assert {"device_fitted", "flow_set", "cylinder_sized"} <= {event.kind for event in events}


SCRIPT = Path(__file__).parents[1] / "conversations" / "procedures" / "drill_seed_2.jsonl"


def test_a_middling_trainee_is_told_what_was_late_and_what_was_missed(capsys: pytest.CaptureFixture[str]) -> None:
    """A false reading doubted, a late look, the cold taken for a leak, a late boat; the rest in time."""
    assert main(["drill", "--seed", "2", "--json", "--replay", str(SCRIPT)]) == 0
    score = json.loads(capsys.readouterr().out.splitlines()[-1])
    bad = [(line["what"], round(line["seconds"] or -1), line["remark"]) for line in score["lines"] if not line["good"]]
    assert bad == [
        ("gauge read", 82, ""),
        ("cold told", -1, "the cold was taken for a leak"),
        ("earlier boat told", 78, ""),
    ]
    assert (score["good"], score["missed"], score["of"]) == (13, 1, 16)


def test_the_sheet_is_printed_at_the_end(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["drill", "--seed", "2", "--replay", str(SCRIPT)]) == 0
    assert "13 of 16 in time, 2 late, 1 missed; played 0:15:00. No gas was used." in capsys.readouterr().out


def test_a_bad_line_is_answered_and_the_rest_runs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    script = _script(tmp_path, [{"at_s": 5}, *OPENING])
    assert main(["drill", "--json", "--replay", script]) == 2
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [line["line"] for line in lines if line["type"] == "error"] == [1]
    assert lines[-1]["good"] == 4


class _Terminal(io.StringIO):
    """Standard input as a person's keyboard."""

    def isatty(self) -> bool:
        return True


def test_without_a_terminal_a_live_drill_says_what_to_do(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("small cylinder\n"))
    assert main(["drill", "--record", str(tmp_path)]) == 2
    assert "use --replay FILE.jsonl" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == [], "nothing was begun"


def test_a_live_drill_is_typed_until_the_input_ends(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", _Terminal("small cylinder\n\n"))
    assert main(["drill", "--seed", "2", "--json", "--record", str(tmp_path)]) == 0
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [line["heard"] for line in lines if line["type"] == "turn"] == ["small cylinder"]
    assert lines[-2]["say"].startswith("Drill: The needle shows"), "Enter alone looks at the gauge"
    assert [line["what"] for line in lines[-1]["lines"] if line["good"]] == ["size told"]


# What a good trainee types on a cue; {n} is the number in the cue's words.
ANSWERS = [
    (r"The boat is due in (\d+) minutes", "boat in {n} minutes"),
    (r"Non-rebreather mask, (\d+) litres", "non rebreather at {n} litres"),
    (r"Bottle one, size D, reads (\d+)", "small cylinder, gauge reads {n}"),
    (r"The new bottle's needle shows (\d+)", "gauge reads {n}, small cylinder"),
    (r"needle shows (\d+)", "gauge reads {n}"),
    (r"the boat comes in (\d+) minutes", "boat in {n} minutes"),
    (r"faint hiss", "hissing"),
]


@dataclass(kw_only=True)
class Trainee:
    """A screen that hears the cues and has its answers ready five seconds later."""

    clock: SetClock
    waiting: list[tuple[float, str]] = field(default_factory=list)
    said: list[str] = field(default_factory=list)

    def show_turn(self, turn: Any, state: Any) -> None:
        self.said.append(f"{turn.at_s:.0f} {turn.heard}: {turn.reply}")

    def show_alert(self, alert: Any, state: Any) -> None:
        self.said.append(f"{alert.at_s:.0f} {alert.say}")
        if alert.priority == "high":
            self.waiting.append((alert.at_s + 5.0, "alarm heard"))

    def show_prompt(self, at_s: float, say: str, state: Any) -> None:
        self.said.append(f"{at_s:.0f} {say}")
        if cold := re.search(r"frost of minus (\d+) degrees. The needle shows (\d+)", say):
            self.waiting.append((at_s + 5.0, f"temperature minus {cold[1]} degrees, gauge reads {cold[2]}"))
            return
        for pattern, answer in ANSWERS:
            if found := re.search(pattern, say):
                self.waiting.append((at_s + 5.0, answer.format(n=found[1] if found.groups() else "")))
                return


def _step_answer(session: DrillSession) -> str | None:
    """At a step of the leak's path: what a trainee says when the second try holds."""
    place = session.state.procedure
    if place is None:
        return None
    step = session.setting.procedures[place.procedure].steps[place.step]
    return step.usual or {"flow_rate": "15 litres", None: "done"}.get(step.asks)


def _play(session: DrillSession, trainee: Trainee) -> None:
    changed = False
    for second in range(int(dr.ENDS_S) + 1):
        trainee.clock.set(float(second))
        session.pass_time()
        for due_s, line in sorted(w for w in trainee.waiting if w[0] <= second):
            trainee.waiting.remove((due_s, line))
            session.hear(typed(line, session.setting.grammar))
        if second % 6 == 0 and (answer := _step_answer(session)):
            session.hear(typed(answer, session.setting.grammar))
        supply = session.state.supply_of("1")
        if (
            not changed
            and supply is not None
            and (supply.pressure_bar or 99.0) < 32
            and session.state.procedure is None
        ):
            changed = True
            session.hear(typed("changed to cylinder two", session.setting.grammar))


@pytest.fixture(scope="module")
def setting() -> Setting:
    return setting_for(default_kit())


@pytest.mark.parametrize("seed", [0, 1, 2, 3])
def test_a_trainee_who_does_what_the_cues_call_for_scores_well(setting: Setting, seed: int) -> None:
    """Everything through the conversation itself: typed words, the assistant's questions, its alerts."""
    clock = SetClock()
    trainee = Trainee(clock=clock)
    session = DrillSession(setting, clock, trainee, seed=seed)
    _play(session, trainee)
    sheet = session.sheet()
    bad = [(line.what, line.arose_at_s, line.seconds, line.remark) for line in sheet.lines if not line.good]
    assert session.over
    assert bad == [], "\n".join(trainee.said)
    assert len(sheet.lines) >= 14
