"""Files kept as they came: where each run is from, taken back whole, and read again."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from logbook.book.imports import imports, kept_file, origin_of, take_back
from logbook.book.sheet_readings import keep_reading, match_file
from logbook.book.sheets import import_sheets
from logbook.errors import DocumentNotFound
from logbook.store import Store, new_book

STRICT = "finished_at,machine,pieces_sewn,gaps\n2025-10-30,M1,24,1\n2025-10-31,M1,24,0\n"
STRANGE = "Date,M/c,Pcs,Rejects,Reason\n30/10/2025,M1,24,1,cap slipped\n31/10/2025,M1,24,0,\n"


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with new_book(str(tmp_path / "book")) as opened:
        yield opened


def sheet(tmp_path: Path, text: str, name: str = "week.csv") -> Path:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def test_a_run_knows_its_file_and_row(store: Store, tmp_path: Path) -> None:
    path = sheet(tmp_path, STRICT)
    key = import_sheets(store, [path]).files[0].import_key
    assert key is not None
    assert kept_file(store, key).read_text("utf-8") == STRICT
    origin = origin_of(store, store.runs()["run_ref"][1])
    assert origin is not None
    assert (origin.file, origin.worksheet, origin.row) == ("week.csv", None, 3)
    assert origin_of(store, "R-unknown") is None
    # Nothing new: nothing more is kept.
    assert import_sheets(store, [path]).files[0].import_key is None
    assert len(imports(store)) == 1


def test_taken_back_whole_and_taken_in_again(store: Store, tmp_path: Path) -> None:
    first = sheet(tmp_path, STRICT)
    import_sheets(store, [first])
    more = sheet(tmp_path, f"{STRICT}2025-11-03,M2,6,0\n", "more.csv")
    key = import_sheets(store, [more]).files[0].import_key
    assert key is not None
    said, withdrawn = take_back(store, key, why="wrong file", source="test")
    assert (said.taken_back, withdrawn, store.count()) == (True, 1, 2)
    assert import_sheets(store, [more]).added == 1
    assert import_sheets(store, [more]).added == 0
    assert store.count() == 3


def test_a_changed_reading_is_applied_to_the_kept_file(store: Store, tmp_path: Path) -> None:
    path = sheet(tmp_path, STRANGE)
    keep_reading(store, match_file(store, path, take_best=True), source="test")
    key = import_sheets(store, [path]).files[0].import_key
    assert key is not None
    answers = {"reasons.cap slipped": "misplacement"}
    found = match_file(store, kept_file(store, key), answers=answers, take_best=True)
    keep_reading(store, found, source="test")
    again = import_sheets(store, [kept_file(store, key)], amend=True)
    assert (again.added, again.amended, store.count()) == (0, 2, 2)
    assert store.runs()["misplacement"].to_list() == [1, 0]


def test_what_is_no_import(store: Store) -> None:
    with pytest.raises(DocumentNotFound):
        take_back(store, "nothing", why="x", source="test")
