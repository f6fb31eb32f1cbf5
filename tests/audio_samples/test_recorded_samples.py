"""The recorded samples are what the manifest says, travel light, and the demo's readings follow from its flow."""

import json
import wave
from pathlib import Path
from runpy import run_path

import pytest

from assistant.meaning.contract import from_json

SAMPLES = Path(__file__).resolve().parents[2] / "audio_samples"
MANIFEST = [json.loads(line) for line in (SAMPLES / "manifest.jsonl").read_text(encoding="utf-8").splitlines()]
DEMO = [json.loads(line) for line in (SAMPLES / "demo" / "demo.jsonl").read_text(encoding="utf-8").splitlines()]
KINDS = {
    "gauge_reading",
    "cylinder_size",
    "cylinder_change",
    "flow_rate",
    "delivery_device",
    "vital_sign",
    "time_to_handover",
    "target_saturation",
    "altitude",
    "temperature",
    "question",
    "step",
    "problem",
    "answer",
    "correction",
    "alarm_heard",
    "note",
}
CONTROL_WORDS = ("done", "next", "back", "repeat", "say again", "stop", "start set up", "undo", "hissing", "yes", "no")


@pytest.fixture(scope="module")
def script():
    pytest.importorskip("soundfile")
    import sys

    sys.path.insert(0, str(SAMPLES))
    yield run_path(str(SAMPLES / "make_samples.py"))
    sys.path.remove(str(SAMPLES))


def test_every_kind_of_the_contract_is_there():
    assert {meaning["kind"] for row in MANIFEST for meaning in row["meanings"]} >= KINDS


def test_there_are_ninety_utterances_in_six_voices_and_the_licence_of_each():
    assert len(MANIFEST) >= 90
    assert len({row["voice"] for row in MANIFEST}) >= 6
    assert all(row["licence"] and row["engine"] for row in MANIFEST)


@pytest.mark.parametrize("words", CONTROL_WORDS)
def test_a_control_word_is_said_by_four_voices(words):
    assert len({row["voice"] for row in MANIFEST if row["words"] == words}) >= 4


def test_the_manifest_and_the_folder_hold_the_same_files():
    assert {row["file"] for row in MANIFEST} == {path.name for path in SAMPLES.glob("*.wav")}
    assert {line["wav"] for line in DEMO} == {path.name for path in (SAMPLES / "demo").glob("*.wav")}


@pytest.mark.parametrize("path", sorted(SAMPLES.rglob("*.wav")), ids=lambda path: path.name)
def test_a_sample_is_sixteen_kilohertz_mono_sixteen_bit_with_sound_in_it(path):
    with wave.open(str(path)) as sound:
        assert (sound.getframerate(), sound.getnchannels(), sound.getsampwidth()) == (16_000, 1, 2)
        assert 0.7 < sound.getnframes() / 16_000 < 12
        assert max(abs(int(s)) for s in memoryview(sound.readframes(sound.getnframes())).cast("h")) > 3000


def test_the_manifest_holds_meanings_of_the_contract():
    for row in MANIFEST:
        for meaning in row["meanings"]:
            assert from_json(meaning).kind == meaning["kind"]


def test_all_of_it_travels_light():
    demo = sum(path.stat().st_size for path in (SAMPLES / "demo").iterdir())
    assert demo < 1_500_000
    assert demo + sum(path.stat().st_size for path in SAMPLES.glob("*.wav")) < 15_000_000


def test_the_demo_goes_forward_in_time():
    assert [line["at_s"] for line in DEMO] == sorted(line["at_s"] for line in DEMO)


def test_the_demos_readings_follow_from_its_flow(script):
    told = script["read_toml"](SAMPLES / "demo_script.toml")
    assert script["implausible_readings"](told) == []


def test_a_reading_that_the_flow_belies_is_found(script):
    told = script["read_toml"](SAMPLES / "demo_script.toml")
    last = next(line for line in reversed(told["line"]) if "gauge" in line)
    last["gauge"]["psi"] += 200
    assert len(script["implausible_readings"](told)) == 1
