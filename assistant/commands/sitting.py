"""What the live commands share: settings and options brought together, the record, the voice, the conversation.

Takes the parsed options; gives a Sitting. Raises UserError for what the user can mend.
"""

from __future__ import annotations

import gc
from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.app import Screen, Session, SteadyClock
from assistant.commands.opening import UserError, add_engine_options
from assistant.commands.recording import Recording, TellingRecord, add_record_options, opened_record
from assistant.dialogue.turn import Setting
from assistant.live.conversation import Conversation
from assistant.settings import Settings, SettingsError, settings_from

if TYPE_CHECKING:
    from assistant.oxygen.kit import Kit
    from assistant.speaking.mouth import Mouth


@dataclass(frozen=True, slots=True, kw_only=True)
class Sitting:
    """Everything of one live command that does not change while it runs."""

    settings: Settings
    setting: Setting
    recording: Recording
    clock: SteadyClock
    notices: tuple[str, ...]


def add_live_options(parser: ArgumentParser, *, ears: bool = True) -> None:
    """`--settings`, `--kit`, `--record`, `--new` and, where there is something to hear, `--engine` and `--model`."""
    parser.add_argument("--settings", type=Path, metavar="FILE.toml", help="voice, units, call word, kit, microphone")
    parser.add_argument("--kit", type=Path, metavar="FILE.toml", help="the cylinders and regulators you carry")
    add_record_options(parser)
    if ears:
        add_engine_options(parser)


def read_settings(args: Namespace) -> Settings:
    """The settings by the options; an option goes before the file. Raises UserError."""
    try:
        settings = settings_from(args.settings)
    except SettingsError as error:
        raise UserError(str(error)) from error
    kit = args.kit or settings.kit
    return replace(settings, kit=kit, engine=getattr(args, "engine", None) or settings.engine)


def sitting_from(args: Namespace) -> Sitting:
    """Settings, kit, grammar and record, opened in this order."""
    settings = read_settings(args)
    kit_toml = _kit_text(settings.kit)
    recording = opened_record(args, kit_toml=kit_toml)
    notices = recording.notices
    if recording.resumed and settings.kit is not None and kit_toml != recording.kit_toml:
        notices = (*notices, "The kit that this incident began with stays in force; --new takes the other one.")
    setting = _setting(settings, recording.kit_toml if recording.resumed else kit_toml)
    return Sitting(
        settings=settings,
        setting=setting,
        recording=recording,
        clock=SteadyClock(recording.began_s),
        notices=notices,
    )


def conversation_of(
    sitting: Sitting,
    screen: Screen,
    tell: Callable[[str, str], None],
    *,
    tick: Callable[[], None] = lambda: None,
    made: Callable[..., Session] = Session,
) -> Conversation:
    """The conversation, not yet started; trouble with the record is given to `tell`, to show and to speak.

    `made` makes its session.
    """
    record = TellingRecord(sitting.recording.journal, tell)
    record.tell_changes()
    session = made(
        sitting.setting,
        sitting.clock,
        screen,
        record=record,
        events=sitting.recording.events,
        began=datetime.fromisoformat(sitting.recording.journal.began).astimezone(),
    )
    gc.freeze()  # what is loaded stays: the garbage collector need not go through it in the midst of a turn
    return Conversation(session, sitting.clock, tick=tick)


def mouth_of(settings: Settings, notice: Callable[[str], None]) -> Mouth:
    """The voice by the settings. Raises UserError."""
    from assistant.speaking.mouth import SpeakingError, VoiceSettings, open_mouth

    try:
        voice = VoiceSettings(
            rate_words_per_min=settings.voice_rate_words_per_min,
            volume=settings.voice_volume,
            voice=settings.voice_name,
        )
        return open_mouth(voice, notice=notice)
    except SpeakingError as error:
        raise UserError(str(error)) from error


def _setting(settings: Settings, kit_toml: str) -> Setting:
    from assistant.app import grammar_for
    from assistant.grammar.tree import GrammarError
    from assistant.incident.procedures import load_procedures
    from assistant.shelf import ShelfError, procedure_texts

    kit = kit_with(settings, kit_toml)
    try:
        grammar = grammar_for(kit, settings.language)
    except (ShelfError, GrammarError, OSError) as error:
        raise UserError(f"{settings.source}: the language {settings.language}: {error}") from error
    return Setting(kit=kit, grammar=grammar, procedures=load_procedures(procedure_texts()))


def kit_with(settings: Settings, kit_toml: str) -> Kit:
    """The kit of that text, or the default one, with the settings' unit of pressure. Raises UserError."""
    from assistant.oxygen.kit import Kit, KitError, default_kit

    try:
        kit = Kit.from_toml(kit_toml, source=str(settings.kit or "the kit")) if kit_toml else default_kit()
    except KitError as error:
        raise UserError(str(error)) from error
    return replace(kit, pressure_unit=settings.pressure_unit) if settings.pressure_unit else kit


def _kit_text(path: Path | None) -> str:
    if path is None:
        return ""
    try:
        return path.read_text(encoding="utf-8")
    except OSError as error:
        raise UserError(f"{path}: cannot be read ({error.strerror})") from error
    except UnicodeDecodeError as error:
        raise UserError(f"{path}: is not a text file") from error
