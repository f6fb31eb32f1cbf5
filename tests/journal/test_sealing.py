"""A sealed journal tells nothing of its patient without the passphrase, and notices what was moved or changed."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from assistant.incident import events as ev
from assistant.journal import Journal, JournalError, read
from assistant.journal.sealing import Seal, SealError

pytest.importorskip("cryptography")

NOTES = tuple(ev.NoteMade(at_s=float(n), text=f"soot in the mouth, {n}") for n in range(5))


@pytest.fixture
def path(folder: Path) -> Path:
    journal = Journal.create(folder, passphrase="three wet herons")
    journal.append(NOTES)
    journal.close()
    return journal.path


def test_it_opens_with_its_passphrase_and_goes_on(path: Path) -> None:
    journal = Journal.open(path, passphrase="three wet herons")
    assert journal.events() == tuple(enumerate(NOTES, start=1))
    assert journal.append([NOTES[0]]) == (6,)
    journal.close()
    assert len(read(path, passphrase="three wet herons").records) == 6


def test_nothing_of_the_patient_is_on_the_disk(folder: Path) -> None:
    journal = Journal.create(folder, passphrase="three wet herons")
    journal.append(NOTES)
    on_disk = b"".join(each.read_bytes() for each in folder.iterdir())
    journal.close()
    for clear in (b"soot", b"note_made", b"herons"):
        assert clear not in on_disk + journal.path.read_bytes()


@pytest.mark.parametrize(
    ("passphrase", "line"),
    [(None, "needs its passphrase"), ("three wet hens", "the passphrase does not open"), ("", "an empty passphrase")],
)
def test_it_does_not_open_otherwise(path: Path, passphrase: str | None, line: str) -> None:
    with pytest.raises(JournalError, match=line):
        read(path, passphrase=passphrase)


def test_a_record_put_in_place_of_another_is_found_out(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DROP TRIGGER event_keeps_update")
        connection.execute("UPDATE event SET crc = NULL")
        connection.execute("UPDATE event SET body = (SELECT body FROM event WHERE number = 1) WHERE number = 2")
        connection.commit()
    with pytest.raises(JournalError, match="record 2 of 5 is damaged"):
        read(path, passphrase="three wet herons")


def test_a_wrong_library_is_said_before_anything_is_written_in_clear(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(__import__("sys").modules, "cryptography.hazmat.primitives.kdf.scrypt", None)
    with pytest.raises(JournalError, match="pip install"):
        Journal.create(folder, passphrase="three wet herons")
    assert not folder.exists()


def test_the_same_words_under_two_seals_look_different() -> None:
    one, two = Seal.made("heron"), Seal.made("heron")
    assert one.salt != two.salt
    assert one.sealed(1, b"soot") != one.sealed(1, b"soot")
    assert one.opened(1, one.sealed(1, b"soot")) == b"soot"
    for seal, number, text in ((two, 1, one.sealed(1, b"soot")), (one, 2, one.sealed(1, b"soot")), (one, 1, b"short")):
        with pytest.raises(SealError):
            seal.opened(number, text)
