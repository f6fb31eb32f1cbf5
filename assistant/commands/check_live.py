"""The live parts of `check`: settings, call word, voice, microphone and page, each tried for real."""

from __future__ import annotations

import time
from argparse import Namespace
from typing import TYPE_CHECKING

from assistant.commands.finding import Finding
from assistant.settings import Settings, SettingsError, settings_from

if TYPE_CHECKING:
    from assistant.hearing.microphone import Microphone

# A microphone that works shows some noise within so long, even a sound server's.
HEARD_WITHIN_S = 5.0
LISTENED_FOR_S = 0.5
DIGITAL_SILENCE_DBFS = -89.0


def check_settings(args: Namespace) -> tuple[Settings, Finding]:
    """The settings file, and what it says; the defaults go on where it cannot be used."""
    try:
        settings = settings_from(args.settings)
    except SettingsError as error:
        cure = "mend the line named, or remove the file; until then the defaults hold"
        return Settings(), Finding(part="settings", ok=False, found=str(error), cure=cure)
    voice = f"{settings.voice_rate_words_per_min} words/min at volume {settings.voice_volume:g}"
    units = settings.pressure_unit or "the kit's"
    how = f"address {settings.address}, voice {voice}, pressure unit {units}, language {settings.language}"
    found = f"{settings.source}: {how}"
    return settings, Finding(part="settings", ok=True, found=found)


def check_language(settings: Settings) -> Finding:
    """Whether the folder of grammars is there, and can be used."""
    from assistant.app import grammar_for
    from assistant.grammar.tree import GrammarError
    from assistant.oxygen.kit import default_kit
    from assistant.shelf import ShelfError

    try:
        grammar = grammar_for(default_kit(), settings.language)
    except (ShelfError, GrammarError, OSError) as error:
        found = f"{settings.language}: {error}"
        cure = 'mend what is named, or leave out language; "en" comes with the program'
        return Finding(part="language", ok=False, found=found, cure=cure)
    return Finding(part="language", ok=True, found=f"{settings.language}: {len(set(grammar.words()))} words")


def check_call_word(settings: Settings, args: Namespace) -> Finding:
    """Whether the recogniser knows the call word; its graph is built now, so that `listen` starts at once."""
    if settings.address != "call_word":
        return Finding(part="call word", ok=True, found="not used (address is not call_word)")
    from assistant.app import setting_for
    from assistant.hearing.call_word import CalledGrammar
    from assistant.hearing.errors import HearingError
    from assistant.hearing.recogniser import open_recogniser
    from assistant.oxygen.kit import default_kit
    from assistant.shelf import pronunciations

    spoken = CalledGrammar(setting_for(default_kit()).grammar, settings.call_word.split())
    try:
        open_recogniser(settings.engine, spoken, model=args.model, pronunciations=pronunciations())
    except HearingError as error:
        cure = "choose common English words for call_word, or another address"
        return Finding(part="call word", ok=False, found=str(error), cure=cure)
    return Finding(part="call word", ok=True, found=f'"{settings.call_word}" is known')


def check_voice(settings: Settings) -> Finding:
    """Says a word, with the settings' own voice."""
    from assistant.speaking.mouth import SpeakingError, VoiceSettings, open_mouth

    said: list[str] = []
    try:
        voice = VoiceSettings(
            rate_words_per_min=settings.voice_rate_words_per_min,
            volume=settings.voice_volume,
            voice=settings.voice_name,
        )
        open_mouth(voice, notice=said.append).speak("Ready.")
    except SpeakingError as error:
        cure = "choose another voice_name, or install the package again; replies are printed"
        return Finding(part="voice", ok=False, found=str(error), cure=cure)
    if said:
        return Finding(part="voice", ok=False, found=said[0], cure="connect a speaker or headset; replies are printed")
    return Finding(part="voice", ok=True, found="said: Ready.")


def check_microphone(settings: Settings) -> Finding:
    """Opens the microphone and listens for a moment."""
    from assistant.hearing.microphone import Microphone, MicrophoneError, microphones

    microphone = Microphone(settings.microphone)
    try:
        microphone.open()
    except MicrophoneError as error:
        return Finding(part="microphone", ok=False, found=str(error), cure="connect a headset; typing works without")
    try:
        level = _loudest(microphone)
    finally:
        microphone.close()
    if level is None:
        cure = "unplug it and plug it in again, or choose another"
        return Finding(part="microphone", ok=False, found=f"{microphone.name} gives no sound", cure=cure)
    others = ", ".join(microphones())
    if level < DIGITAL_SILENCE_DBFS:
        cure = "switch its mute off, and turn its level up"
        return Finding(part="microphone", ok=False, found=f"{microphone.name} is silent", cure=cure)
    return Finding(part="microphone", ok=True, found=f"{microphone.name} hears {level:.0f} dBFS (there are: {others})")


def _loudest(microphone: Microphone) -> float | None:
    """The loudest level of half a second, or None where nothing came."""
    from assistant.live.listening import level_dbfs

    levels: list[float] = []
    until_s = time.monotonic() + HEARD_WITHIN_S
    while time.monotonic() < until_s:
        samples = microphone.read(0.1)
        if samples is None:
            continue
        if not levels:
            until_s = time.monotonic() + LISTENED_FOR_S
        levels.append(level_dbfs(samples))
    return max(levels, default=None)


def check_button(settings: Settings) -> Finding:
    """Whether the button of the settings is there and may be read."""
    from assistant.live.buttons import Button, ButtonError, buttons

    if settings.button is None:
        there = ", ".join(buttons().values()) or "none to be seen"
        return Finding(part="button", ok=True, found=f"not used (devices: {there})")
    button = Button(settings.button, pressed=lambda: None, let_go=lambda: None, notice=lambda line: None)
    try:
        button.start()
    except ButtonError as error:
        cure = "connect it, or leave out button; a key of the terminal does too"
        return Finding(part="button", ok=False, found=str(error), cure=cure)
    button.stop()
    return Finding(part="button", ok=True, found=f"{settings.button} can be read")


def check_page() -> Finding:
    """Whether the page's server can run and its port is free."""
    import socket

    from assistant.commands.serve import PORT

    with socket.socket() as probe:
        try:
            probe.bind(("127.0.0.1", PORT))
        except OSError as error:
            cure = "stop what uses it, or give serve another --port"
            return Finding(part="page", ok=False, found=f"port {PORT} is taken ({error.strerror})", cure=cure)
    return Finding(part="page", ok=True, found=f"serve can run on port {PORT}")
