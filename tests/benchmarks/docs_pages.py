"""Writes the pages of docs/ that hold what is in the program: python tests/benchmarks/docs_pages.py

The conversation guide is the grammar's own documentation; the architecture page follows one utterance through every
room, with what it really becomes in each; the trade page has the devices. tests/test_docs_pages.py holds them to it.
"""

from __future__ import annotations

import json
import sys
import textwrap
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from assistant.app import Session, SetClock, kit_from, setting_for
from assistant.dialogue.turn import Setting, Turn
from assistant.dialogue.turn_json import turn_json
from assistant.grammar import Node, Tag, Word
from assistant.incident.events_json import event_to_text
from assistant.incident.state import State
from assistant.meaning.contract import to_json
from assistant.meaning.typed import tokenised, typed
from assistant.meaning.understand import understand
from assistant.oxygen.device_tables import Device
from assistant.oxygen.devices import DEVICES

DOCS = ROOT / "docs"
WRITTEN = "Written by `python tests/benchmarks/docs_pages.py`; not edited by hand."
WIDEST = 100
WALKED = "bottle reads 1500, small cylinder, 15 litres"
TOPICS = {
    "answers.jsgf": "Answers, corrections, alarms, notes",
    "cylinder.jsgf": "The cylinder and its size",
    "device.jsgf": "The device on the patient",
    "flow.jsgf": "The flow",
    "gauge.jsgf": "The gauge",
    "place.jsgf": "Height and cold",
    "problems.jsgf": "Trouble",
    "questions.jsgf": "What can be asked",
    "steps.jsgf": "Step by step",
    "time.jsgf": "The time to hand-over",
    "vitals.jsgf": "The patient's signs",
}
BEGIN = """\
Say it as you would to a colleague. Several things in one breath are fine, in any order. Numbers go as people and radio
operators say them: "eighteen fifty", "one fife zero zero", "a hundred and forty bar", "two decimal five".

What is taken is read back. Listen to it: "no" or "correction sixteen hundred" puts it right, "undo" takes it back.
What was not clearly heard is asked, one question at a time. Everything else is left alone.

Where two cylinders or patients are about, name them: "bottle two reads nine hundred", "ten litres for patient two".
"""


def conversation_page(setting: Setting) -> str:
    """Everything that can be said, with the grammar's own examples and near misses."""
    parts = ["# What you can say", WRITTEN, BEGIN.rstrip()]
    grammar = setting.grammar
    described = {entry.rule: entry.description for entry in grammar.help()}
    examples: dict[str, dict[str, list[str]]] = {}
    for example in grammar.examples():
        examples.setdefault(example.file, {}).setdefault(example.rule, []).append(example.sentence)
    misses: dict[str, list[str]] = {}
    for miss in grammar.nonexamples():
        misses.setdefault(miss.rule, []).append(miss.sentence)
    for file in sorted(examples, key=list(TOPICS).index):
        parts.append(f"## {TOPICS[file]}")
        for rule, sentences in examples[file].items():
            parts.append(described.get(rule, ""))
            parts.append("\n".join(f"- {sentence}" for sentence in sentences))
            if rule in misses:
                parts.append("Not taken for it: " + "; ".join(f"*{miss}*" for miss in misses[rule]) + ".")
    parts += ["## Typed", _typed_part()]
    return "\n\n".join(part for part in parts if part) + "\n"


def _typed_part() -> str:
    lines = ("1500psi, D cylinder, 15L", "SpO2 94% HR 110", "BP 120/80", "temp -5", "boat in 1h10", "target 94-98%")
    rows = "\n".join(f"| `{line}` | {' '.join(tokenised(line))} |" for line in lines)
    return (
        "In `chat` and `ask` numerals and the usual abbreviations do as well; small slips in words are mended, never "
        f"in a number or a unit.\n\n| typed | read as |\n| --- | --- |\n{rows}\n\n"
        "Of a line that is not understood as a whole, what is stated in it is asked for with a yes or no: *okay, just "
        'cranked him up to 6 litres because he looks blue* is answered with "Flow six litres, yes or no?". So is the '
        "one number of a line that another word names: *got the probe on his other finger and now it's giving me 93*. "
        "What is denied, supposed or past is left alone. A note that is nothing but a value is kept, and the value "
        "asked for: *note saturation 91*. Where the second model is installed, a line in other words is treated alike "
        "if said aloud, where it tells what its number is of: *look his saturation is 91 after all that smoke*."
    )


class _Shown:
    """A screen that keeps the last turn."""

    turn: Turn
    state: State

    def show_turn(self, turn: Turn, state: State) -> None:
        self.turn, self.state = turn, state

    def show_alert(self, alert: object, state: State) -> None: ...
    def show_prompt(self, at_s: float, say: str, state: State) -> None: ...


def walk(setting: Setting) -> str:
    """One utterance through the rooms, as Markdown."""
    utterance = typed(WALKED, setting.grammar)
    (derivation, *_) = setting.grammar.parse(utterance.best.words)
    (reading, *_) = understand(utterance, setting.grammar, setting.kit)
    shown = _Shown()
    session = Session(setting, SetClock(), shown)
    turn = session.hear(utterance)
    cylinder = session.state.cylinders["1"]
    assert cylinder.estimate is not None
    events = "\n".join(map(event_to_text, turn.events))
    pressure_bar, sd_bar = cylinder.estimate.pressure_bar(0.0)
    return "\n\n".join((
        f"Typed: `{WALKED}`. Spoken, the ears give the same kind of value, with rivals and their likelihoods.",
        _step("utterance.py", "words, certain as they were typed", str(list(utterance.best.words))),
        _step("grammar/", "a derivation; its tags hold the values", fill(_bracketed(derivation), WIDEST)),
        _step("meaning/", "meanings, nothing in force yet", "\n".join(str(to_json(one)) for one in reading.meanings)),
        _step("dialogue/", f"a turn: `{turn.outcome}`, and the events to append", events),
        _step(
            "incident/, oxygen/",
            "the state, folded from the events; with it the live estimate of the needle",
            f"cylinder 1: size {cylinder.size}, {pressure_bar:.1f} bar give or take {sd_bar:.1f}, "
            f"{cylinder.flow_l_min:g} L/min for patient {cylinder.patient}",
        ),
        _step("dialogue/, speaking/", "the reply, spoken", turn.reply),
        _step("screens/", "the contract's line", json.dumps(turn_json(shown.turn, shown.state))),
    ))  # fmt: skip


def fill(text: str, width: int) -> str:
    """Broken between words alone."""
    return textwrap.fill(text, width, break_long_words=False, break_on_hyphens=False)


def _bracketed(part: Node | Word | Tag) -> str:
    """A derivation as nested brackets, tags in braces."""
    if isinstance(part, Node):
        return f"<{part.rule}>({' '.join(map(_bracketed, part.parts))})"
    return part.text if isinstance(part, Word) else f"{{{part.text}}}"


def _step(room: str, what: str, content: str) -> str:
    return f"**`{room}`** {what}:\n\n```text\n{content}\n```"


def architecture_page(setting: Setting) -> str:
    """The rooms, why they are so, and the walk."""
    return _filled("architecture.in.md", {"walk": walk(setting)})


def trade_page() -> str:
    """The rules of the trade; the devices are those that the program holds."""
    rows = "\n".join(_device_row(device) for device in DEVICES.values())
    table = f"| device | L/min | least L/min | oxygen breathed, by source |\n| --- | --- | --- | --- |\n{rows}"
    return _filled("trade.in.md", {"devices": table})


def _device_row(device: Device) -> str:
    low, high = device.flow_l_min
    least = "; ".join(f"{one.flow_l_min:g} ({one.source})" for one in device.least)
    printed = "; ".join(
        f"{_span(one.flow_l_min)} L/min {_span(one.percent)} % ({one.source})" for one in device.printed
    )
    return f"| {device.spoken} | {low:g} to {high:g} ({device.flow_source}) | {least} | {printed} |"


def _span(ends: tuple[float, float]) -> str:
    low, high = ends
    return f"{low:g}" if low == high else f"{low:g}-{high:g}"


def _filled(name: str, parts: dict[str, str]) -> str:
    text = (DOCS / name).read_text(encoding="utf-8")
    for part, content in {"written": WRITTEN, **parts}.items():
        text = text.replace(f"<!-- {part} -->", content)
    return text


def pages() -> dict[Path, str]:
    """Every page by its path."""
    setting = setting_for(kit_from(None))
    return {
        DOCS / "conversation.md": conversation_page(setting),
        DOCS / "architecture.md": architecture_page(setting),
        DOCS / "trade.md": trade_page(),
    }


if __name__ == "__main__":
    for path, text in pages().items():
        path.write_text(text, encoding="utf-8")
        print(f"{path.relative_to(ROOT)}: {len(text.splitlines())} lines")
