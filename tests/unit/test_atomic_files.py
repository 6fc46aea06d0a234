"""Files are seen whole or not at all, whatever goes wrong while they are written."""

from __future__ import annotations

import os
import threading
from pathlib import Path

import pytest

from logbook.atomic_files import atomic_write, write_atomically
from logbook.errors import IntakeError


def test_a_secret_is_made_with_its_permissions(tmp_path: Path) -> None:
    write_atomically(tmp_path / "key", b"secret", mode=0o600)
    assert (tmp_path / "key").stat().st_mode & 0o777 == 0o600


def test_a_full_disk_leaves_what_stood_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "file"
    write_atomically(path, b"before")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left"):
        write_atomically(path, b"after")
    with pytest.raises(IntakeError, match="No space left"), atomic_write(path) as part:
        part.write_bytes(b"after")
    assert [(each.name, each.read_bytes()) for each in tmp_path.iterdir()] == [("file", b"before")]


def test_a_writer_that_fails_leaves_nothing(tmp_path: Path) -> None:
    def fail() -> None:
        with atomic_write(tmp_path / "a.csv", ending=".csv") as part:
            assert part.suffix == ".csv"
            part.write_text("half")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()
    assert list(tmp_path.iterdir()) == []


def test_many_at_once_leave_one_of_theirs(tmp_path: Path) -> None:
    contents = [bytes([number]) * 4096 for number in range(20)]
    path = tmp_path / "file"
    writers = [threading.Thread(target=write_atomically, args=(path, each)) for each in contents]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    assert path.read_bytes() in contents
    assert list(tmp_path.iterdir()) == [path]
