"""The user's settings: one TOML file for voice, units, language, call word, microphone and kit.

Takes a file's path, gives a frozen Settings; refuses, in one line with the nearest name, what it does not know.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, fields
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from assistant.toml_text import TomlError, table_in

SETTINGS_VARIABLE = "OXYGEN_ASSISTANT_SETTINGS"
ADDRESSES = ("open", "key", "call_word")
PRESSURE_UNITS = ("psi", "bar", "MPa")
ENGINES = ("vosk", "pocketsphinx")
# Two words that the trade does not use and that the recognisers know: a bird of the marsh. Our own choice.
CALL_WORD = "grey heron"
MOST_CALL_WORDS = 4


class SettingsError(ValueError):
    """The settings cannot be used; the text is one line that names the file and the cure."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """All settings, with what holds where the file says nothing.

    `voice_rate_words_per_min` and `voice_volume` (0 to 1) are the voice's; `pressure_unit` overrules the kit's, which
    rules where it is None; `language` is a folder of grammars: its name ("en"), or its path. `address` is how the
    assistant is spoken to: "open" (it hears everything), "key" (while a key is held or after it is struck), or
    "call_word" (after `call_word`). `microphone` is a device's name or part of it, `button` that of a headset's button,
    a foot switch or a keypad to talk with, held or struck (Linux).
    """

    source: str = "the default settings"
    kit: Path | None = None
    language: str = "en"
    pressure_unit: str | None = None
    voice_rate_words_per_min: int = 160
    voice_volume: float = 1.0
    voice_name: str = "en-us"
    address: str = "open"
    call_word: str = CALL_WORD
    microphone: str | None = None
    button: str | None = None
    engine: str | None = None


def settings_path() -> Path:
    """Where the settings lie unless an option says otherwise: OXYGEN_ASSISTANT_SETTINGS, or the user's own folder."""
    if named := os.environ.get(SETTINGS_VARIABLE):
        return Path(named).expanduser()
    import platformdirs

    return platformdirs.user_config_path("oxygen-assistant", appauthor=False) / "settings.toml"


def settings_from(path: Path | None = None) -> Settings:
    """The settings in a file, or in the user's own file; the defaults where that is not there. Raises SettingsError."""
    place = path or settings_path()
    try:
        text = place.read_text(encoding="utf-8")
    except FileNotFoundError:
        if path is None and SETTINGS_VARIABLE not in os.environ:
            return Settings()
        raise SettingsError(f"{place}: there is no such file") from None
    except OSError as error:
        raise SettingsError(f"{place}: cannot be read ({error.strerror})") from error
    except UnicodeDecodeError as error:
        raise SettingsError(f"{place}: is not a text file") from error
    return settings_read(text, source=str(place), folder=place.parent)


def settings_read(text: str, *, source: str = "settings", folder: Path = Path()) -> Settings:
    """The settings a TOML text gives; a kit's relative path is meant from `folder`. Raises SettingsError."""
    try:
        found = table_in(text)
    except TomlError as error:
        raise SettingsError(f"{source}: is not TOML (line {error.line}: {error})") from error
    known = {field.name for field in fields(Settings)} - {"source"}
    for key in found:
        if key not in known:
            near = get_close_matches(key, known, 1, 0.4)
            hint = f"; the nearest is {near[0]}" if near else f"; known are {', '.join(sorted(known))}"
            raise SettingsError(f"{source}: there is no setting {key}{hint}")
    values = {key: _checked(key, value, source) for key, value in found.items()}
    if "kit" in values:
        values["kit"] = folder / Path(values["kit"]).expanduser()
    if "language" in values and len(Path(values["language"]).parts) > 1:
        values["language"] = str((folder / Path(values["language"]).expanduser()).absolute())
    return Settings(source=source, **values)


_CHOICES: Mapping[str, tuple[str, ...]] = {
    "address": ADDRESSES,
    "pressure_unit": PRESSURE_UNITS,
    "engine": ENGINES,
}
# espeak-ng's own limits of the speaking rate; a volume is a share.
_RANGES: Mapping[str, tuple[float, float]] = {"voice_rate_words_per_min": (80, 450), "voice_volume": (0.0, 1.0)}


def _checked(key: str, value: Any, source: str) -> Any:
    if key in _RANGES:
        return _number(key, value, source)
    if not isinstance(value, str) or not value.strip():
        raise SettingsError(f"{source}: {key} must be a text in quotation marks")
    if key in _CHOICES and value not in _CHOICES[key]:
        raise SettingsError(f"{source}: {key} is {value!r}; it may be {', '.join(_CHOICES[key])}")
    if key == "call_word":
        return _call_word(value, source)
    return value


def _number(key: str, value: Any, source: str) -> float | int:
    low, high = _RANGES[key]
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        raise SettingsError(f"{source}: {key} must be a number from {low:g} to {high:g}")
    return int(value) if key == "voice_rate_words_per_min" else float(value)


def _call_word(value: str, source: str) -> str:
    words = value.lower().split()
    if len(words) > MOST_CALL_WORDS or not all(word.replace("'", "").isalpha() for word in words):
        raise SettingsError(f"{source}: call_word must be one to {MOST_CALL_WORDS} plain words")
    return " ".join(words)
