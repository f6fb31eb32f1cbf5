"""TOML text to a table, the same on every Python; refuses, with the line, what is none."""

from __future__ import annotations

import re
import sys
from typing import Any

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib


class TomlError(ValueError):
    """The text is no TOML: why, and on which `line`, its last where the reader does not say."""

    def __init__(self, why: str, line: int) -> None:
        super().__init__(why)
        self.line = line


def table_in(text: str) -> dict[str, Any]:
    """The table that the text holds. Raises TomlError."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        place = re.search(r"line (\d+)", str(error))
        line = int(place[1]) if place else len(text.splitlines())
        raise TomlError(re.sub(r"\s*\(at .*\)", "", str(error)), line) from error
