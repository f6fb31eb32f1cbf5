"""The one error of this package: what cannot be, in a sentence that can be spoken."""

from __future__ import annotations


class OxygenError(ValueError):
    """Something impossible was asked for; the text says what is wrong, in words a user can hear."""
