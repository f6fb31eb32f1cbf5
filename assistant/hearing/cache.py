"""Where the ears keep what they fetched or built: the user's cache folder, and folders that appear whole or not."""

from __future__ import annotations

import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

CACHE_VARIABLE = "OXYGEN_ASSISTANT_CACHE"
UNFINISHED = ".unfinished-"
UNFINISHED_FOR_AT_MOST_S = 6 * 3_600.0


def cache_folder() -> Path:
    """The folder named by OXYGEN_ASSISTANT_CACHE, or the user's own cache folder; it need not exist yet."""
    if named := os.environ.get(CACHE_VARIABLE):
        return Path(named).expanduser()
    import platformdirs

    return Path(platformdirs.user_cache_dir("oxygen-assistant", appauthor=False))


@contextmanager
def whole_folder(target: Path) -> Iterator[Path]:
    """A temporary folder to fill; renamed to `target` when the block ends well, removed when it does not.

    Whoever finds `target` finds all of it. A folder that is there already gives way.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    _remove_left_over(target.parent)
    filling = Path(tempfile.mkdtemp(prefix=UNFINISHED, dir=target.parent))
    try:
        yield filling
        _put_in_place(filling, target)
    finally:
        shutil.rmtree(filling, ignore_errors=True)


def _put_in_place(filling: Path, target: Path) -> None:
    """A folder cannot be renamed onto a full one; the old one goes aside first, for the moment between."""
    try:
        filling.rename(target)
    except OSError:
        aside = Path(tempfile.mkdtemp(prefix=UNFINISHED, dir=target.parent))
        target.rename(aside / "old")
        filling.rename(target)
        shutil.rmtree(aside, ignore_errors=True)


def _remove_left_over(folder: Path) -> None:
    """What a killed process left; a running one's folder is younger than this."""
    for left in folder.glob(UNFINISHED + "*"):
        if time.time() - left.stat().st_mtime > UNFINISHED_FOR_AT_MOST_S:
            shutil.rmtree(left, ignore_errors=True)


def keep_newest(folder: Path, count: int) -> None:
    """Removes all but the `count` most recently used folders in `folder` (used: by modification time)."""
    kept = [entry for entry in folder.iterdir() if entry.is_dir() and not entry.name.startswith(UNFINISHED)]
    for old in sorted(kept, key=lambda entry: entry.stat().st_mtime, reverse=True)[count:]:
        shutil.rmtree(old, ignore_errors=True)
