"""The tables of a book as files of one moment, and a book made of such files."""

from __future__ import annotations

from pathlib import Path

import duckdb
import polars as pl
import pytest
from run_frames import frame, many, run

from logbook.errors import BookNewer, NotABook, StoreError
from logbook.store import new_book, open_book
from logbook.store.duckdb_store import DuckStore
from logbook.store.migrations import NEWEST
from logbook.store.opening import FILE_NAME
from logbook.store.replies import KeyedReply, Reply
from logbook.store.snapshot import book_from_snapshot

ROWS = {"migrations": NEWEST, "runs": 30, "run_history": 1, "request_answers": 1, "cards": 1}


@pytest.fixture
def files(book: DuckStore, tmp_path: Path) -> Path:
    folder = tmp_path / "it's a snapshot"
    folder.mkdir()
    book.put(many(30), source="test")
    book.amend("R-1", frame([run("R-1", gaps=4)]), why="recounted", source="test")
    once = KeyedReply("k-1", lambda _: Reply("mark", 201, "{}"))
    book.put(frame([run("R-1", gaps=4)]), source="test", reply=once)
    book.put_document("prices", "p-1", {"per_m2": 0.9}, source="test")
    assert book.snapshot(folder) == ROWS
    return folder


def _restored(files: Path, place: Path) -> dict[str, int]:
    place.mkdir()
    return book_from_snapshot(files, place)


def test_every_table_is_written_and_read_back(book: DuckStore, files: Path, tmp_path: Path) -> None:
    assert pl.read_parquet(files / "runs.parquet").height == 30
    assert _restored(files, tmp_path / "new") == ROWS
    with open_book(str(tmp_path / "new")) as new:
        assert new.runs().equals(book.runs())
        assert new.history("R-1") == book.history("R-1")
        assert new.documents("prices") == book.documents("prices")
        assert new.reply_to("k-1") == Reply("mark", 201, "{}")
        # The keys are there again: the same reference cannot be taken twice.
        assert new.put(frame([run("R-2", gaps=7)]), source="test").conflicts == (0,)


def test_a_folder_that_cannot_be_written_is_named(book: DuckStore, tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="cannot be copied to"):
        book.snapshot(tmp_path / "nowhere")
    assert book.count() == 0


def test_a_damaged_table_is_found_while_it_is_copied(tmp_path: Path) -> None:
    place = tmp_path / "book"
    with new_book(str(place)) as store:
        store.put(frame([run(f"R-{n}", notes=f"{n}" * 400) for n in range(3000)]), source="test")
    file = place / FILE_NAME
    whole = file.read_bytes()
    file.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(NotABook, match="backup"), open_book(str(place)) as store:
        store.snapshot(tmp_path)


@pytest.mark.parametrize(
    ("name", "change"),
    [
        ("runs", lambda table: table.with_columns(strange=pl.lit(value=True))),
        ("runs", lambda table: table.with_columns(pl.lit(1).alias('a" BIGINT; DROP TABLE runs'))),
        ("runs", lambda table: table.drop("content_mark")),
        ("runs", lambda table: pl.concat([table, table])),
        ("runs", lambda table: table.with_columns(gaps=pl.lit("many"))),
        ("run_history", lambda table: table.with_columns(strange=pl.lit(1))),
        ("migrations", lambda table: table.clear()),
        ("migrations", lambda table: table.with_columns(number=table["number"] + 1000)),
        ("migrations", lambda table: table.with_columns(number=pl.lit(0, pl.Int32))),
        ("orders", lambda _: pl.DataFrame({"a": [1]})),
    ],
)
def test_tables_that_are_not_a_books_are_refused(
    files: Path, tmp_path: Path, name: str, change: object
) -> None:
    path = files / f"{name}.parquet"
    before = pl.read_parquet(path) if path.exists() else pl.DataFrame()
    assert callable(change)
    change(before).write_parquet(path)
    with pytest.raises(StoreError) as refused:
        _restored(files, tmp_path / "new")
    assert refused.value.hint is not None


def test_tables_of_a_newer_step_are_refused(files: Path, tmp_path: Path) -> None:
    path = files / "migrations.parquet"
    steps = pl.read_parquet(path)
    later = steps.with_columns(number=pl.lit(NEWEST + 1, pl.Int32))
    pl.concat([steps, later]).write_parquet(path)
    with pytest.raises(BookNewer, match=f"step {NEWEST + 1}"):
        _restored(files, tmp_path / "new")


def test_a_missing_table_is_refused(files: Path, tmp_path: Path) -> None:
    (files / "run_history.parquet").unlink()
    with pytest.raises(NotABook, match="run_history"):
        _restored(files, tmp_path / "new")
    (files / "migrations.parquet").unlink()
    with pytest.raises(NotABook, match="no table of migrations"):
        _restored(files, tmp_path / "newer")


def test_a_snapshot_holds_tables_alone(book: DuckStore, tmp_path: Path) -> None:
    book.put(many(5), source="test", dry_run=True)
    assert book.snapshot(tmp_path)["runs"] == 0
    with duckdb.connect() as plain:
        names = {path.stem for path in tmp_path.glob("*.parquet")}
        assert names == set(ROWS)
        assert plain.execute(
            "SELECT count(*) FROM read_parquet(?)", [str(tmp_path / "runs.parquet")]
        ).fetchall() == [(0,)]
