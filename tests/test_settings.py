"""The settings file: what it may say, what holds without it, and one clear line for what is wrong in it."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.settings import SETTINGS_VARIABLE, Settings, SettingsError, settings_from, settings_path, settings_read

FULL = """\
kit = "my kit.toml"
language = "folders/en"
pressure_unit = "bar"
voice_rate_words_per_min = 140
voice_volume = 0.5
voice_name = "en-gb"
address = "call_word"
call_word = "Blue  Heron"
microphone = "headset"
engine = "vosk"
"""


def test_everything_that_can_be_set(tmp_path: Path) -> None:
    file = tmp_path / "settings.toml"
    file.write_text(FULL, encoding="utf-8")
    settings = settings_from(file)
    assert settings == Settings(
        source=str(file), kit=tmp_path / "my kit.toml", language=str(tmp_path / "folders" / "en"), pressure_unit="bar",
        voice_rate_words_per_min=140, voice_volume=0.5, voice_name="en-gb", address="call_word", call_word="blue heron",
        microphone="headset", engine="vosk",
    )  # fmt: skip


def test_no_file_is_the_defaults(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(SETTINGS_VARIABLE, raising=False)
    monkeypatch.setattr("assistant.settings.settings_path", lambda: tmp_path / "none.toml")
    assert settings_from() == Settings()


def test_a_file_that_was_named_must_be_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    missing = tmp_path / "none.toml"
    with pytest.raises(SettingsError, match="there is no such file"):
        settings_from(missing)
    monkeypatch.setenv(SETTINGS_VARIABLE, str(missing))
    assert settings_path() == missing
    with pytest.raises(SettingsError, match="there is no such file"):
        settings_from()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("voice_volum = 1", "there is no setting voice_volum; the nearest is voice_volume"),
        ("zzz = 1", "there is no setting zzz; known are"),
        ("voice_volume = 2", "voice_volume must be a number from 0 to 1"),
        ("voice_volume = true", "voice_volume must be a number from 0 to 1"),
        ("voice_volume = nan", "voice_volume must be a number from 0 to 1"),
        ("voice_rate_words_per_min = 20", "from 80 to 450"),
        ('address = "shout"', "it may be open, key, call_word"),
        ('pressure_unit = "stone"', "it may be psi, bar, MPa"),
        ('call_word = "r2d2"', "one to 4 plain words"),
        ('call_word = "one two three four five"', "one to 4 plain words"),
        ('call_word = ""', "must be a text in quotation marks"),
        ("kit = 5", "must be a text in quotation marks"),
        ("kit = ", "is not TOML"),
    ],
)
def test_what_is_wrong_is_one_line(text: str, said: str) -> None:
    with pytest.raises(SettingsError) as error:
        settings_read(text, source="settings.toml")
    assert said in str(error.value)
    assert str(error.value).startswith("settings.toml: ")
    assert "\n" not in str(error.value)
