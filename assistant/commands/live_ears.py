"""The ears of the live commands: a recogniser by options and settings, its endpointing, and how it is addressed."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.commands.opening import UserError, listening_for, notice
from assistant.commands.sitting import Sitting
from assistant.live.addressing import Address, CallWord, OpenMicrophone, TalkKey
from assistant.live.conversation import Conversation

if TYPE_CHECKING:
    from assistant.hearing.endpointing import Endpointer
    from assistant.hearing.recogniser import Recogniser, SpokenGrammar
    from assistant.hearing.spotting import Spotter


@dataclass(frozen=True, slots=True, kw_only=True)
class Ears:
    """A recogniser, what spots the phrase that stops the voice, and the grammar to listen for an answer with."""

    recogniser: Recogniser
    spotter: Spotter
    answering: SpokenGrammar


def ears_for(
    args: Namespace, sitting: Sitting, *, besides: Callable[[SpokenGrammar], SpokenGrammar] = lambda grammar: grammar
) -> Ears:
    """Ears that know the call word where it is used, and what `besides` adds to the grammar. Raises UserError."""
    from assistant import shelf
    from assistant.hearing.answering import AnsweringGrammar
    from assistant.hearing.call_word import CalledGrammar
    from assistant.hearing.errors import HearingError
    from assistant.hearing.recogniser import make_ready_for_answers, open_recogniser
    from assistant.hearing.spotting import spotter_for

    grammar = sitting.setting.grammar
    settings = sitting.settings
    spoken, answering = besides(grammar), besides(AnsweringGrammar(grammar))
    if settings.address == "call_word":
        call_word = settings.call_word.split()
        spoken, answering = CalledGrammar(spoken, call_word), CalledGrammar(answering, call_word)
    try:
        recogniser = open_recogniser(
            settings.engine, spoken, model=args.model, pronunciations=shelf.pronunciations(), notice=notice
        )
        make_ready_for_answers(recogniser.name, answering, model=args.model)
    except HearingError as error:
        raise UserError(str(error)) from error
    spotter = spotter_for(recogniser, grammar.words())
    return Ears(recogniser=recogniser, spotter=spotter, answering=answering)


def endpointer_for(sitting: Sitting, ears: Ears, conversation: Conversation, model: Path | None) -> Endpointer:
    """Endpointing for these ears; the call word at an utterance's beginning is left out of account."""
    from assistant.hearing.ending import ending_for
    from assistant.hearing.endpointing import Endpointer

    needed_s, first_s = ending_for(sitting.setting.grammar, ears.recogniser.name)
    call_word = tuple(sitting.settings.call_word.split()) if sitting.settings.address == "call_word" else ()

    def after_call_word(words: tuple[str, ...]) -> float:
        called = bool(call_word) and words[: len(call_word)] == call_word
        return needed_s(words[len(call_word) :] if called else words)

    def awaits() -> bool:
        return conversation.now()[0].question is not None

    listening = listening_for(ears.answering, ears.recogniser, model, awaits)
    return Endpointer(listening, after_call_word, first_s=first_s)


def address_for(sitting: Sitting, conversation: Conversation, *, noticed: Callable[[], None]) -> Address:
    """The way to be addressed, by the settings; `noticed` is called where the call word was said alone."""
    match sitting.settings.address:
        case "key":
            return TalkKey()
        case "call_word":
            call_word = sitting.settings.call_word.split()
            return CallWord(call_word, lambda: conversation.now()[0].question is not None, noticed)
        case _:
            return OpenMicrophone()
