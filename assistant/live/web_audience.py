"""The incident behind the page: what browsers type and say goes to the conversation, what comes out to all of them.

Takes what the hub hands on; is the conversation's screen; gives replies' sound by name.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from assistant.dialogue.turn import Turn
from assistant.incident.events import AlertRaised
from assistant.incident.state import State
from assistant.live.browser_source import BrowserSource
from assistant.live.conversation import Conversation
from assistant.live.listening import Listening
from assistant.meaning.typed import typed
from assistant.screens.web.curves import curves
from assistant.screens.web.hub import Hub
from assistant.screens.web.lines import alert_line, note_line, prompt_line, recorded_lines, turn_lines
from assistant.screens.web.snapshot import snapshot
from assistant.speaking.mouth import SpeakingError
from assistant.speaking.speech_queue import RANKS
from assistant.speaking.wav_bytes import Sampling, wav_bytes

if TYPE_CHECKING:
    from assistant.dialogue.turn import Setting

KEPT_SOUNDS = 40
EARS_TOLD_EVERY_S = 0.25


class WebScreen:
    """Shows and speaks to every browser. A reply's sound is made when the first browser asks for it."""

    def __init__(self, hub: Hub, mouth: Sampling | None) -> None:
        self._hub = hub
        self._mouth = mouth
        self._texts: OrderedDict[str, str] = OrderedDict()
        self._sounds: dict[str, bytes] = {}
        self._number = 0
        self._lock = threading.Lock()

    def show_turn(self, turn: Turn, state: State) -> None:
        for line in turn_lines(turn):
            self._hub.post(line)
        self._say(turn.reply, "reply")

    def show_alert(self, alert: AlertRaised, state: State) -> None:
        self._hub.post(alert_line(alert))
        self._say(alert.say, alert.priority)

    def show_prompt(self, at_s: float, say: str, state: State) -> None:
        self._hub.post(prompt_line(at_s, say))
        self._say(say, "prompt")

    def tell(self, at_s: float, shown: str, said: str = "") -> None:
        """A line about the assistant itself, spoken as an alert where it is to be spoken."""
        self._hub.post(note_line(at_s, shown))
        self._say(said, "medium")

    def sound_of(self, name: str) -> bytes | None:
        """The WAV of what was said under that name; None where there is none, or no voice."""
        with self._lock:
            text = self._texts.get(name)
            if text is None or self._mouth is None:
                return None
            if name not in self._sounds:
                try:
                    self._sounds[name] = wav_bytes(self._mouth, text)
                except SpeakingError:
                    return None
            return self._sounds[name]

    def _say(self, text: str, what: str) -> None:
        if not text:
            return
        with self._lock:
            self._number += 1
            name = str(self._number)
            self._texts[name] = text
            while len(self._texts) > KEPT_SOUNDS:
                old, _ = self._texts.popitem(last=False)
                self._sounds.pop(old, None)
        sound = f"/sound/{name}.wav" if self._mouth is not None else None
        self._hub.post({"type": "say", "rank": RANKS[what], "what": what, "sound": sound})


class WebAudience:
    """What the hub speaks to."""

    def __init__(
        self,
        conversation: Conversation,
        setting: Setting,
        source: BrowserSource,
        listening: Listening,
        hub: Hub,
        trouble: Callable[[], str | None],
    ) -> None:
        self._conversation = conversation
        self._setting = setting
        self._source = source
        self._listening = listening
        self._hub = hub
        self._trouble = trouble
        self._told: dict[str, Any] = {}
        for line in recorded_lines(conversation.session.incident.events):
            hub.post(line)

    def typed(self, text: str) -> None:
        """In a thread of its own: the server must not wait."""
        utterance = typed(text, self._setting.grammar)
        threading.Thread(target=self._heard, args=(utterance,), name="typed", daemon=True).start()

    def talk(self, rate_hz: int) -> None:
        self._source.begin(rate_hz)

    def samples(self, pcm: bytes) -> None:
        self._source.put(pcm)

    def talked(self, *, dropped: bool) -> None:
        if dropped:
            self._listening.drop()
        self._source.end(dropped=dropped)

    def snapshot(self) -> list[dict[str, Any]]:
        state, at_s = self._conversation.now()
        shown = snapshot(state, at_s, self._conversation.next_due_s(), self._setting, self._trouble())
        return [shown, curves(state, self._conversation.session.incident.events, at_s)]

    def renew(self) -> None:
        """Sends the state to every browser: once a second, and after each turn."""
        for message in self.snapshot() if self._hub.count else ():
            self._hub.post(message)

    def tell_ears(self) -> None:
        """Sends what the ears are doing, where it changed."""
        doing = self._listening.doing
        told = {"type": "ears", "what": doing.what, "partial": doing.partial}
        if told != self._told and self._hub.count:
            self._told = told
            self._hub.post(told)

    def _heard(self, utterance: Any) -> None:
        self._conversation.hear(utterance)
        self.renew()
