"""`hear`: WAV files, each one utterance of the same conversation, in order."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path

from assistant.app import SetClock
from assistant.commands.opening import add_conversation_options, ears_from, notice, session_from, setting_from

HELP = "recorded utterances (WAV files), answered in order"


def add_arguments(parser: ArgumentParser) -> None:
    """The command's arguments."""
    parser.add_argument(
        "files", nargs="+", type=Path, metavar="FILE.wav", help="any PCM WAV, 8 to 48 kHz, mono or stereo"
    )
    add_conversation_options(parser)


def run(args: Namespace) -> int:
    """Hear each file; one that cannot be read is told and the rest goes on."""
    from assistant.hearing.errors import WavError
    from assistant.hearing.wav import SAMPLE_RATE_HZ, read_wav

    setting = setting_from(args)
    clock = SetClock()
    session = session_from(args, clock, setting=setting)
    ears = ears_from(args, session)
    status = 0
    for file in args.files:
        try:
            samples = read_wav(file)
        except WavError as error:
            notice(str(error))
            status = 2
            continue
        session.hear(ears.hear(samples))
        clock.set(clock.now_s() + len(samples) / SAMPLE_RATE_HZ)
    return status
