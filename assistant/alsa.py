"""Silences ALSA, which writes dozens of lines to standard error where there is no sound card.

For the ears and for the voice alike: both rooms open sound cards, and neither imports the other.
"""

from __future__ import annotations

import ctypes
import sys
from functools import cache
from typing import Any


@cache
def quieten_alsa() -> Any:
    """Takes over ALSA's error handler. Cached: the handler must live as long as the library may call it."""
    if not sys.platform.startswith("linux"):
        return None
    handler = ctypes.CFUNCTYPE(None, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p)
    silent = handler(lambda file, line, function, error, text: None)
    try:
        ctypes.CDLL("libasound.so.2").snd_lib_error_set_handler(silent)
    except (OSError, AttributeError):
        return None
    return silent
