"""The mouth: replies as speech, to the speaker or into a WAV file. Imports nothing heavy until one is opened."""

from __future__ import annotations

from assistant.speaking.mouth import Mouth, SilentMouth, SpeakingError, VoiceSettings, open_mouth

__all__ = ["Mouth", "SilentMouth", "SpeakingError", "VoiceSettings", "open_mouth"]
