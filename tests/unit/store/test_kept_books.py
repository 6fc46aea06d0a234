"""Books kept from each earlier step are brought up to date with nothing lost."""

from __future__ import annotations

from pathlib import Path

import duckdb
import pytest
from lived_in_book import AMENDED, PAST_VERSIONS, RUNS, SETTINGS, WITHDRAWN, write_sheet

from logbook.book.export import export_runs
from logbook.book.sheets import import_sheets
from logbook.safekeeping import backups, verifying
from logbook.safekeeping.backups import restore
from logbook.safekeeping.verifying import verify_backup, verify_book
from logbook.store import open_book, opening, snapshot
from logbook.store.duckdb_store import DuckStore
from logbook.store.migrations import MIGRATIONS, NEWEST, Migration
from logbook.store.opening import FILE_NAME

KEPT = Path(__file__).parents[2] / "fixtures" / "books"
STEPS = sorted(int(path.stem.removeprefix("step-")) for path in KEPT.glob("*.sql"))
NEXT = Migration(
    NEWEST + 1,
    "the hoop",
    (
        "ALTER TABLE runs ADD COLUMN hoop_name VARCHAR",
        "CREATE TABLE hoops (name VARCHAR PRIMARY KEY, width_mm BIGINT)",
        "INSERT INTO hoops VALUES ('small', 100)",
    ),
)


def _rebuilt(step: int, place: Path) -> Path:
    """The book of a step, from its SQL text."""
    place.mkdir()
    (place / "shop.toml").write_text(SETTINGS, encoding="utf-8")
    with duckdb.connect(str(place / FILE_NAME)) as old:
        old.execute((KEPT / f"step-{step}.sql").read_text(encoding="utf-8"))
    return place


def _is_all_there(store: DuckStore) -> None:
    assert store.count() == RUNS
    assert verify_book(store).problems == ()
    assert verify_book(store).tables["run_history"] == PAST_VERSIONS
    assert [each.what for each in store.history(AMENDED)] == ["logged", "amended", "amended"]
    assert store.history(WITHDRAWN)[-1].why == "entered twice"
    assert store.runs(refs=[AMENDED])["puckering"].item() == 6
    assert store.runs(refs=["R-7"])["loose_ends"].item() == 1


def test_every_earlier_step_is_kept() -> None:
    assert set(range(1, NEWEST)) <= set(STEPS), "see tests/fixtures/books/keep.py"
    assert STEPS, "a kept book must be there to open"


@pytest.mark.parametrize("step", STEPS)
def test_a_kept_book_opens_as_it_was(step: int, tmp_path: Path) -> None:
    with open_book(str(_rebuilt(step, tmp_path / "book"))) as store:
        assert store.migrations_run == tuple(range(step + 1, NEWEST + 1))
        _is_all_there(store)
        again = import_sheets(store, [write_sheet(tmp_path / "sheet.csv")])
        assert (again.added, again.amended, again.rejected) == (0, 0, 0)
        _is_all_there(store)


@pytest.mark.parametrize("step", STEPS)
def test_a_kept_backup_is_restored_to_the_same_book(step: int, tmp_path: Path) -> None:
    archive = KEPT / f"step-{step}.zip"
    assert verify_backup(archive).whole
    made = restore(archive, str(tmp_path / "new"))
    assert made.steps == tuple(range(step + 1, NEWEST + 1))
    exports = []
    for place in (_rebuilt(step, tmp_path / "old"), tmp_path / "new"):
        with open_book(str(place)) as store:
            _is_all_there(store)
            export_runs(store, tmp_path / "runs.csv")
        exports.append((tmp_path / "runs.csv").read_bytes())
    assert exports[0] == exports[1]


@pytest.mark.parametrize("step", STEPS)
def test_a_step_of_tomorrow_is_taken_by_the_books_of_today(
    step: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for module in (opening, snapshot):
        monkeypatch.setattr(module, "MIGRATIONS", (*MIGRATIONS, NEXT))
        monkeypatch.setattr(module, "NEWEST", NEXT.number)
    for module in (backups, verifying):
        monkeypatch.setattr(module, "NEWEST", NEXT.number)
    rebuilt = _rebuilt(step, tmp_path / "old")
    made = restore(KEPT / f"step-{step}.zip", str(tmp_path / "new"))
    assert made.steps[-1] == NEXT.number
    for place in (rebuilt, tmp_path / "new"):
        with open_book(str(place)) as store:
            _is_all_there(store)
            tables = store.snapshot(tmp_path)
            assert tables["hoops"] == 1
            # And a backup of the book brought up to date goes round too.
            archive = tmp_path / f"{place.name}.zip"
            backups.back_up(store, archive)
        again = restore(archive, str(tmp_path / f"{place.name}-again"))
        assert (again.steps, again.manifest.tables["hoops"]) == ((), 1)


def test_kept_steps_are_never_changed() -> None:
    for step in STEPS:
        text = (KEPT / f"step-{step}.sql").read_text(encoding="utf-8")
        with duckdb.connect() as kept, duckdb.connect() as made:
            kept.execute(text)
            made.execute(snapshot.RECORD_OF_MIGRATIONS)
            for migration in MIGRATIONS[:step]:
                for statement in migration.statements:
                    made.execute(statement)
            made.execute("ALTER TABLE runs ADD COLUMN loose_ends BIGINT")
            assert _columns(kept) == _columns(made), step


def _columns(connection: duckdb.DuckDBPyConnection) -> list[tuple[object, ...]]:
    return connection.execute(
        "SELECT table_name, column_name, data_type, is_nullable FROM duckdb_columns() "
        "ORDER BY table_name, column_index"
    ).fetchall()
