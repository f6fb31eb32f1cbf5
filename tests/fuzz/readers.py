"""The readers of files and lines, each a function of bytes, with whole examples to bend and the errors it may raise.

Anything but a result or one of `errors`, whose text is one line, is a defect of the reader.
"""

from __future__ import annotations

import io
import json
import tempfile
import wave
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from assistant import shelf
from assistant.commands.replay import LineError, read_line
from assistant.grammar import load_grammar
from assistant.grammar.tree import GrammarError
from assistant.hearing.errors import WavError
from assistant.hearing.wav import read_wav
from assistant.incident import events as ev
from assistant.incident.events_json import EventError, event_from_json, event_to_json
from assistant.incident.procedure_steps import ProcedureError
from assistant.incident.procedures import load_procedures
from assistant.journal import Journal, JournalError, read
from assistant.meaning.contract import MeaningError, from_json
from assistant.oxygen.kit import DEFAULT_KIT_TOML, Kit, KitError
from assistant.report.lines import LinesError, incident_from_lines
from assistant.settings import SettingsError, settings_read
from tests.fuzz import audience

ROOT = Path(__file__).parents[2]
MARSH_ISLAND = ROOT / "tests" / "report" / "marsh_island.jsonl"
EUROPEAN_KIT = """\
pressure_unit = "bar"
reserve = "10 bar"
gauge_class = 2.5
gauge_top = "315 bar"
country = "EU"
[[cylinder]]
called = ["two litre"]
size = "2 L"
water_capacity = "2 L"
service_pressure = "200 bar"
[regulator]
flows = [1, 2, 4, 6, 9, 12, 15]
kind = "fixed_orifice"
"""
SETTINGS = 'call_word = "grey heron"\naddress = "call_word"\nvoice_rate_words_per_min = 170\npressure_unit = "bar"\n'
REPLAY_LINES = (
    b'{"at_s": 0, "text": "bottle reads 1500, small cylinder, 15 litres"}',
    b'{"at_s": 95.5, "wav": "relative.wav"}',
    b'{"at_s": 600, "wait": true}',
)
MEANINGS = (
    {"kind": "gauge_reading", "cylinder": "1", "pressure": {"value": 1500, "unit": "psi"}},
    {"kind": "vital_sign", "sign": "oxygen_saturation", "value": 94, "patient": "1"},
    {"kind": "target_saturation", "low": 94, "high": 98},
    {"kind": "question", "about": "time_remaining"},
    {"kind": "answer", "yes": True},
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reader:
    """`read` takes the bytes of a file or a line; `whole` are examples that it must take as they are."""

    name: str
    read: Callable[[bytes], object]
    errors: tuple[type[Exception], ...]
    whole: tuple[bytes, ...]


def _text(read_text: Callable[[str], object]) -> Callable[[bytes], object]:
    """Files are opened as UTF-8 and refused where they are none, so only text gets to the reader."""
    return lambda content: read_text(content.decode("utf-8", errors="replace"))


def _from_file(read_file: Callable[[Path], object], suffix: str) -> Callable[[bytes], object]:
    def read_bytes(content: bytes) -> object:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / f"file{suffix}"
            path.write_bytes(content)
            return read_file(path)

    return read_bytes


def _wav(*, bytes_a_sample: int = 2, channels: int = 1, rate_hz: int = 16_000) -> bytes:
    out = io.BytesIO()
    with closing(wave.open(out, "wb")) as file:
        file.setnchannels(channels)
        file.setsampwidth(bytes_a_sample)
        file.setframerate(rate_hz)
        file.writeframes(bytes(range(256)) * 4 * bytes_a_sample * channels)
    return out.getvalue()


def _journal() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        journal = Journal.create(Path(folder), kit=DEFAULT_KIT_TOML)
        journal.append(
            (
                ev.GaugeRead(at_s=0.0, cylinder="1", value=1500, unit="psi", pressure_bar=103.4214),
                ev.FlowSet(at_s=2.0, patient="1", flow_l_min=15.0),
                ev.NoteMade(at_s=3.0, text="two pills, märsh"),
            )
        )
        journal.finish(10.0)
        return journal.path.read_bytes()


def _events() -> tuple[bytes, ...]:
    events = (
        ev.GaugeRead(at_s=0.0, cylinder="1", value=1500, unit="psi", pressure_bar=103.4214),
        ev.QuestionAsked(at_s=1.0, about="flow_rate", choices=({"kind": "flow_rate"},), subject="1"),
        ev.UtteranceHeard(at_s=1.0, heard="uh", hypotheses=(("uh", -1.5),), asked={"about": "number"}),
    )
    return tuple(json.dumps(event_to_json(event)).encode() for event in events)


def _loaded(line: str) -> object:
    """JSON that is none never gets as far as the readers of events and meanings."""
    try:
        return json.loads(line)
    except (ValueError, RecursionError):
        return {}


def _replayed(line: str) -> object:
    return read_line(line, earliest_s=0.0, folder=Path())


def _meaning(line: str) -> object:
    value = _loaded(line)
    return from_json(value if isinstance(value, dict) else {})


def readers() -> tuple[Reader, ...]:
    """Every reader."""
    procedure = shelf.procedure_texts()["cylinder_change.toml"]
    place = shelf.grammar_texts()["place.jsgf"]
    others = shelf.grammar_texts()
    return (
        Reader(
            name="kit",
            read=_text(lambda text: Kit.from_toml(text, source="kit.toml")),
            errors=(KitError,),
            whole=(DEFAULT_KIT_TOML.encode(), EUROPEAN_KIT.encode()),
        ),
        Reader(
            name="procedure",
            read=_text(lambda text: load_procedures({**shelf.procedure_texts(), "cylinder_change.toml": text})),
            errors=(ProcedureError,),
            whole=(procedure.encode(),),
        ),
        Reader(
            name="settings",
            read=_text(settings_read),
            errors=(SettingsError,),
            whole=(SETTINGS.encode(),),
        ),
        Reader(
            name="grammar",
            read=_text(lambda text: load_grammar({**others, "place.jsgf": text}, {})),
            errors=(GrammarError,),
            whole=(place.encode(),),
        ),
        Reader(name="replay line", read=_text(_replayed), errors=(LineError,), whole=REPLAY_LINES),
        Reader(
            name="event",
            read=_text(lambda line: event_from_json(_loaded(line))),
            errors=(EventError,),
            whole=_events(),
        ),
        Reader(
            name="meaning",
            read=_text(_meaning),
            errors=(MeaningError,),
            whole=tuple(json.dumps(meaning).encode() for meaning in MEANINGS),
        ),
        Reader(
            name="incident lines",
            read=_text(incident_from_lines),
            errors=(LinesError,),
            whole=(b"".join(MARSH_ISLAND.read_bytes().splitlines(keepends=True)[:12]),),
        ),
        Reader(
            name="wav",
            read=_from_file(read_wav, ".wav"),
            errors=(WavError,),
            whole=(
                *(_wav(), _wav(bytes_a_sample=1), _wav(rate_hz=8_000)),
                _wav(bytes_a_sample=3, channels=2, rate_hz=48_000),
            ),
        ),
        Reader(name="journal", read=_from_file(read, ".sqlite"), errors=(JournalError,), whole=(_journal(),)),
        Reader(name="socket frames", read=audience.sent, errors=(), whole=audience.WHOLE),
    )


def misread(reader: Reader, content: bytes) -> str | None:
    """What is wrong with how the reader took the bytes; None where it read them or said in one line why not."""
    try:
        reader.read(content)
    except reader.errors as error:
        said = str(error)
        return None if said.strip() and len(said.splitlines()) == 1 else f"no clear line: {said!r}"
    except Exception as error:
        return f"{type(error).__name__}: {error}"
    return None
