"""Starting a book, and which book is meant."""

from __future__ import annotations

from pathlib import Path

import pytest

from logbook.errors import BookReadOnly, SettingsError, StoreError
from logbook.store import book_place, new_book, open_book


def test_new_below_a_file_cannot_be(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("kept")
    with pytest.raises(BookReadOnly, match="cannot be started"):
        new_book(str(tmp_path / "file" / "book"))


def test_new_with_settings_that_make_no_sense_leaves_nothing(place: str) -> None:
    with pytest.raises(SettingsError, match=r"\[costs\].*'tea'"):
        new_book(place, settings="[costs]\ntea = 1")
    assert not Path(place).exists()


def test_a_new_book_has_its_rooms_and_opens_again(place: str) -> None:
    new_book(place).close()
    folders = {path.name for path in Path(place).iterdir() if path.is_dir()}
    assert folders == {"photos", "designs", "imports"}
    with open_book(place) as store:
        assert store.place == place
        assert store.folder == Path(place)
        assert store.count() == 0


def test_addresses_of_servers_are_refused_by_this_version() -> None:
    with pytest.raises(StoreError, match="postgresql"):
        open_book("postgresql://somewhere/book")
    with pytest.raises(StoreError):
        new_book("postgresql://somewhere/book")


def test_a_name_that_no_disk_takes_is_told_plainly() -> None:
    with pytest.raises(StoreError, match="name another folder"):
        open_book("x" * 5000)


def test_which_book_is_meant(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("LOGBOOK_BOOK", raising=False)
    assert book_place(None) == "book"
    monkeypatch.setenv("LOGBOOK_BOOK", "from-the-environment")
    assert book_place(None) == "from-the-environment"
    assert book_place("named") == "named"
