"""A drill in `listen`: what plays it there, by voice, and ends it. "Look" shows the gauge, spoken or typed.

Takes a seed; gives the session to be made, the words to hear besides the grammar's, and the score sheet at the end.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from assistant.commands.drill_session import DrillSession
from assistant.live.conversation import Conversation
from assistant.utterance import Utterance

if TYPE_CHECKING:
    from assistant.hearing.recogniser import SpokenGrammar

LOOK = "look"


class DrillByVoice:
    """One drill; `conversation` is to be set once it is there."""

    def __init__(self, seed: int) -> None:
        self.made = partial(DrillSession, seed=seed)

    @staticmethod
    def spoken(grammar: SpokenGrammar) -> SpokenGrammar:
        """The grammar with "look" beside it, said alone."""
        from assistant.hearing.call_word import CalledGrammar

        return CalledGrammar(grammar, (LOOK,))

    @staticmethod
    def looked(conversation: Conversation, utterance: Utterance) -> bool:
        """Whether the trainee looked at the gauge; the needle is shown and spoken then."""
        if not utterance.hypotheses or utterance.best.words != (LOOK,):
            return False
        session = conversation.session
        assert isinstance(session, DrillSession)
        conversation.alone(session.look)
        return True

    @staticmethod
    def over(conversation: Conversation) -> bool:
        """Whether the last cue was told."""
        session = conversation.session
        return isinstance(session, DrillSession) and session.over

    @staticmethod
    def show_sheet(conversation: Conversation) -> None:
        """Prints the score."""
        from rich.console import Console

        from assistant.screens.drill_view import show_sheet

        session = conversation.session
        assert isinstance(session, DrillSession)
        show_sheet(session.sheet(), Console(highlight=False))
