"""What was changed behind the program's back is found, in runs and in their history."""

from __future__ import annotations

import json
import random
import shutil
from pathlib import Path

import duckdb
import lived_in_book
import pytest
from lived_in_book import AMENDED, PAST_VERSIONS, RUNS, WITHDRAWN
from small_shop import small_book

from logbook.book.runs import amend_run, log_run, withdraw_run
from logbook.errors import LogbookError, NotABackup
from logbook.runs.columns import columns_with
from logbook.safekeeping.backups import back_up
from logbook.safekeeping.verifying import Verified, verify_book
from logbook.store import open_book
from logbook.store.opening import FILE_NAME

SHEET_COLUMNS = [column.name for column in columns_with() if column.name != "run_ref"]
OTHER_VALUES = {
    "text": "'Zelkova'",
    "choice": "'zelkova'",
    "integer": "17",
    "number": "17.5",
    "boolean": "true",
    "moment": "TIMESTAMP '2026-10-01 00:00:00.000001'",
}
TYPES = {column.name: column.type for column in columns_with()}


@pytest.fixture(scope="module")
def model(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("model")
    sheet = lived_in_book.write_sheet(place / "sheet.csv")
    lived_in_book.lived_in_book(place / "book", sheet).close()
    return place / "book"


@pytest.fixture
def book(model: Path, tmp_path: Path) -> Path:
    return shutil.copytree(model, tmp_path / "book")


def _change(book: Path, *statements: str) -> None:
    with duckdb.connect(str(book / FILE_NAME)) as behind:
        for statement in statements:
            behind.execute(statement)


def _verified(book: Path) -> Verified:
    with open_book(str(book)) as store:
        return verify_book(store)


def _found(book: Path, where: str, says: str) -> None:
    checked = _verified(book)
    assert not checked.whole
    told = [problem.says for problem in checked.problems if problem.where == where]
    assert any(says in each for each in told), checked.problems
    assert checked.advice is not None
    assert "restore the last backup" in checked.advice


def test_an_untouched_book_is_whole(book: Path) -> None:
    checked = _verified(book)
    assert checked.problems == ()
    assert (checked.tables["runs"], checked.tables["run_history"]) == (RUNS, PAST_VERSIONS)
    assert checked.advice is None


@pytest.mark.parametrize("column", [*SHEET_COLUMNS, "loose_ends"])
def test_a_value_put_into_any_column_is_found(book: Path, column: str) -> None:
    value = OTHER_VALUES[TYPES.get(column, "integer")]
    _change(book, f"UPDATE runs SET \"{column}\" = {value} WHERE run_ref = 'R-2'")
    _found(book, "runs", "1 run is not what was written down: R-2")


def test_a_value_taken_away_and_the_smallest_change_are_found(book: Path) -> None:
    _change(
        book,
        "UPDATE runs SET puckering = NULL WHERE run_ref = 'R-1'",
        "UPDATE runs SET backing_gsm = backing_gsm + 1e-14 WHERE run_ref = 'R-4'",
        "UPDATE runs SET notes = notes || ' ' WHERE run_ref = 'R-10'",
        "UPDATE runs SET finished_at = finished_at + INTERVAL 1 MICROSECOND WHERE run_ref = 'R-11'",
    )
    _found(book, "runs", "4 runs are not what was written down")


def test_a_kind_of_its_own_put_where_none_was_recorded_is_found(book: Path) -> None:
    _change(book, "UPDATE runs SET loose_ends = 4 WHERE machine = 'M1'")
    _found(book, "runs", "1 run is not what was written down")


def test_a_mark_that_was_changed_is_found(book: Path) -> None:
    _change(book, "UPDATE runs SET content_mark = reverse(content_mark) WHERE run_ref = 'R-2'")
    _found(book, "runs", "R-2")


def test_each_value_of_an_earlier_version_is_guarded(book: Path, tmp_path: Path) -> None:
    with duckdb.connect(str(book / FILE_NAME)) as behind:
        [(text,)] = behind.execute(
            f"SELECT content FROM run_history WHERE run_ref = '{AMENDED}' AND version = 2"
        ).fetchall()
    said = json.loads(text)
    assert {"run_ref", "finished_at", "puckering", "backing_gsm", "loose_ends"} <= set(said)
    changed = [{**said, name: _other(value)} for name, value in said.items()]
    changed += [{key: said[key] for key in said if key != name} for name in said]
    changed += [{**said, "gaps": 0}, {**said, "strange": 3}, {**said, "loose_ends": 7}]
    texts = [json.dumps(each) for each in changed] + ["", "[]", "null", text[:-1], "{}"]
    for number, other in enumerate(texts):
        copy = shutil.copytree(book, tmp_path / f"copy{number}")
        _change(
            copy,
            f"UPDATE run_history SET content = '{other}' "
            f"WHERE run_ref = '{AMENDED}' AND version = 2",
        )
        _found(copy, "run_history", f"in an earlier version not what was written down: {AMENDED}")
        shutil.rmtree(copy)


def _other(value: object) -> object:
    if isinstance(value, str):
        return value[:-1] + ("1" if value[-1] != "1" else "2")
    assert isinstance(value, int | float)
    return value + 1


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        (f"DELETE FROM run_history WHERE run_ref = '{AMENDED}' AND version = 1", "version missing"),
        (f"DELETE FROM run_history WHERE run_ref = '{AMENDED}' AND version = 2", "version missing"),
        (f"DELETE FROM runs WHERE run_ref = '{AMENDED}'", "neither in the book nor withdrawn"),
        (f"UPDATE runs SET version = 9 WHERE run_ref = '{AMENDED}'", "version missing"),
        (f"UPDATE runs SET version = 1 WHERE run_ref = '{AMENDED}'", "version missing"),
        ("UPDATE runs SET version = 2 WHERE run_ref = 'R-1'", "version missing"),
        (f"UPDATE runs SET run_ref = 'R-99' WHERE run_ref = '{AMENDED}'", "version missing"),
        ("UPDATE runs SET change_what = 'amended' WHERE run_ref = 'R-1'", "does not begin"),
        ("UPDATE runs SET change_what = 'Logged' WHERE run_ref = 'R-1'", "does not begin"),
        (
            f"DELETE FROM run_history WHERE run_ref = '{WITHDRAWN}' AND version = 2",
            "neither in the book nor withdrawn",
        ),
        (
            f"UPDATE run_history SET change_what = 'amended' WHERE run_ref = '{WITHDRAWN}' "
            "AND version = 2",
            "neither in the book nor withdrawn",
        ),
        (
            "INSERT INTO runs SELECT * REPLACE ('R-5' AS run_ref, 3 AS version, "
            "'amended' AS change_what) FROM runs WHERE run_ref = 'R-1'",
            "neither in the book nor withdrawn, or both",
        ),
        (
            f"UPDATE run_history SET run_ref = 'R-77' WHERE run_ref = '{WITHDRAWN}' "
            "AND version = 1",
            "version missing",
        ),
    ],
)
def test_versions_that_do_not_follow_one_another_are_found(
    book: Path, statement: str, says: str
) -> None:
    _change(book, statement)
    _found(book, "run_history", says)


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("DELETE FROM runs WHERE run_ref = 'R-2'", "1 run is in the backup, but no longer in the"),
        ("UPDATE runs SET run_ref = 'R-88' WHERE run_ref = 'R-2'", "no longer in the book: R-2"),
        ("UPDATE runs SET source = 'x' WHERE run_ref = 'R-2'", "otherwise recorded"),
        ("UPDATE runs SET recorded_at = recorded_at + INTERVAL 1 MICROSECOND", "10 runs are other"),
        ("UPDATE run_history SET change_why = 'x' WHERE run_ref = 'R-5' AND version = 2", "R-5"),
        ("UPDATE run_history SET change_why = NULL WHERE run_ref = 'R-5'", "1 run is otherwise"),
    ],
)
def test_an_earlier_backup_finds_what_marks_cannot(
    book: Path, tmp_path: Path, statement: str, says: str
) -> None:
    archive = tmp_path / "book.zip"
    with open_book(str(book)) as store:
        back_up(store, archive)
        # What is logged, amended and withdrawn in the ordinary way is no damage.
        log_run(store, {"pieces_inspected": 5, "gaps": 1}, source="form")
        amend_run(store, "R-1", {"gaps": 2}, why="recounted", source="form")
        withdraw_run(store, "R-4", why="entered twice", source="form")
        assert verify_book(store, against=archive).whole
    _change(book, statement)
    with open_book(str(book)) as store:
        assert verify_book(store).whole
        checked = verify_book(store, against=archive)
    [problem] = checked.problems
    assert says in problem.says


def test_a_backup_of_another_book_is_not_held_against(book: Path, tmp_path: Path) -> None:
    with small_book(tmp_path / "other") as other:
        back_up(other, tmp_path / "other.zip")
    with open_book(str(book)) as store, pytest.raises(NotABackup, match="of another book"):
        verify_book(store, against=tmp_path / "other.zip")


def test_a_flipped_byte_in_the_file_is_found_or_does_no_harm(tmp_path: Path) -> None:
    with small_book(tmp_path / "model") as store:
        runs = store.runs()
    whole = (tmp_path / "model" / FILE_NAME).read_bytes()
    chance = random.Random()
    seed = chance.getrandbits(32)
    chance.seed(seed)
    found = 0
    for number in range(60):
        place = chance.randrange(len(whole))
        book = tmp_path / f"book{number}"
        book.mkdir()
        damaged = bytearray(whole)
        damaged[place] ^= 1 << chance.randrange(8)
        (book / FILE_NAME).write_bytes(damaged)
        try:
            with open_book(str(book), wait_seconds=0) as store:
                if verify_book(store).whole:
                    assert store.runs().equals(runs), (seed, place)
                else:
                    found += 1
        except LogbookError:
            found += 1
        shutil.rmtree(book)
    assert found > 0, seed
