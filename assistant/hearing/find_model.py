"""Finds a whole vosk model, or fetches one: the place named, the user's cache, Maven, vosk's own downloader.

Refuses half a model wherever it lies; raises ModelMissingError, saying what was tried, where nothing works.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from assistant.hearing.cache import cache_folder
from assistant.hearing.errors import ModelMissingError
from assistant.hearing.model_folder import faults

MODEL_VARIABLE = "OXYGEN_ASSISTANT_MODEL"
INSIDE = (".", "assets/model-en-us", "model-en-us")

Notice = Callable[[str], None]


def vosk_model(named: Path | None = None, *, notice: Notice = lambda line: None, fetch: bool = True) -> Path:
    """The folder of a whole vosk model. `named` (an option) goes before OXYGEN_ASSISTANT_MODEL, before the cache.

    A named model is the only one looked at. With `fetch` a missing one is downloaded into the cache, with a progress
    bar on standard error. Raises ModelMissingError.
    """
    if wanted := named or _from_environment():
        return _whole(wanted)
    models = cache_folder() / "models"
    if cached := _cached(models):
        return cached
    if not fetch:
        raise ModelMissingError(f"There is no vosk model in {models}.")
    return _fetched(models, notice)


def _from_environment() -> Path | None:
    value = os.environ.get(MODEL_VARIABLE)
    return Path(value).expanduser() if value else None


def _whole(wanted: Path) -> Path:
    for inside in INSIDE:
        if not faults(wanted / inside):
            return (wanted / inside).resolve()
    raise ModelMissingError(f"{wanted} is no whole vosk model: {faults(wanted)[0]}.")


def _cached(models: Path) -> Path | None:
    if not models.is_dir():
        return None
    candidates = sorted(entry for entry in models.iterdir() if not entry.name.startswith("."))
    return next((entry.resolve() for entry in candidates if not faults(entry)), None)


def _fetched(models: Path, notice: Notice) -> Path:
    from assistant.hearing.fetch_model import SOURCES, FetchError

    failures = []
    for name, fetch in SOURCES:
        try:
            folder = fetch(models, notice)
        except FetchError as failure:
            failures.append(f"{name}: {failure}")
        else:
            return folder.resolve()
    raise ModelMissingError(f"No vosk model could be had ({'; '.join(failures)}).")
