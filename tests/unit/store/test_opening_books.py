"""Opening a book: what is refused, with which words, and that nothing refused is changed."""

from __future__ import annotations

import hashlib
import os
import shutil
import sqlite3
import struct
import subprocess
import sys
import tempfile
from pathlib import Path

import duckdb
import pytest
from run_frames import frame, many, run

from logbook.errors import (
    BookBusy,
    BookNewer,
    NoBook,
    NotABook,
    SettingsError,
    StoreError,
)
from logbook.store import new_book, open_book
from logbook.store.migrations import MIGRATIONS, NEWEST, RECORD_OF_MIGRATIONS
from logbook.store.opening import FILE_NAME

HOLD = """
import sys, time
from logbook.store import open_book
with open_book(sys.argv[1]) as store:
    print("open", flush=True)
    sys.stdin.readline()
"""
TRY = """
import sys
from logbook.errors import LogbookError
from logbook.store import open_book
try:
    with open_book(sys.argv[1], wait_seconds=0.0) as store:
        print("opened", store.count())
except LogbookError as problem:
    print(type(problem).__name__, getattr(problem, "process_id", ""))
"""


def told_by_another_process(place: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", TRY, place], capture_output=True, text=True, check=True, timeout=60
    )
    return done.stdout.strip()


def fingerprint(folder: Path) -> dict[str, str]:
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.fixture(scope="module")
def model(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book of 2000 runs, to be copied."""
    place = tmp_path_factory.mktemp("model") / "book"
    with new_book(str(place)) as store:
        store.put(many(2000, notes="a note to fill the pages"), source="test")
    return place


@pytest.fixture
def file(model: Path, tmp_path: Path) -> Path:
    """The database file of a book of 2000 runs."""
    return shutil.copytree(model, tmp_path / "book") / FILE_NAME


def test_no_folder_is_no_book_and_says_how_to_start_one(tmp_path: Path) -> None:
    with pytest.raises(NoBook, match="logbook new"):
        open_book(str(tmp_path / "nowhere"))
    assert list(tmp_path.iterdir()) == []


def test_an_empty_folder_is_no_book(tmp_path: Path) -> None:
    with pytest.raises(NoBook):
        open_book(str(tmp_path))
    assert list(tmp_path.iterdir()) == []


def test_a_file_where_a_folder_should_be(tmp_path: Path) -> None:
    file = tmp_path / "book.txt"
    file.write_text("not a folder")
    with pytest.raises(NotABook, match="is a file; a book is a folder"):
        open_book(str(file))


@pytest.mark.parametrize("kept", [0, 1, 100, 4096, 8192, 12_288, 20_000, 200_000])
def test_a_truncated_file_is_not_a_book_and_stays_as_it_is(
    place: str, file: Path, kept: int
) -> None:
    file.write_bytes(file.read_bytes()[:kept])
    before = fingerprint(Path(place))
    with pytest.raises(NotABook, match="restore it from a backup"):
        open_book(place, wait_seconds=0.0)
    assert fingerprint(Path(place)) == before


def test_a_file_cut_in_its_data_is_told_as_damaged_when_it_is_read(place: str) -> None:
    with new_book(place) as store:
        notes = [
            f"{hashlib.sha256(str(number).encode()).hexdigest() * 8}" for number in range(9000)
        ]
        rows = [run(f"R-{number}", notes=note) for number, note in enumerate(notes)]
        store.put(frame(rows), source="test")
    file = Path(place) / FILE_NAME
    whole = file.read_bytes()
    file.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(NotABook, match="backup"), open_book(place, wait_seconds=0.0) as store:
        store.runs()


def test_damaged_bytes_are_not_taken_for_a_lock(model: Path, tmp_path: Path) -> None:
    # The database tells of a damaged "block at location": the word holds "lock".
    file = shutil.copytree(model, tmp_path / "clockwork storage version 2") / FILE_NAME
    damaged = bytearray(file.read_bytes())
    damaged[12_400] ^= 0xFF
    file.write_bytes(bytes(damaged))
    with pytest.raises(NotABook, match="backup"):
        open_book(str(file.parent), wait_seconds=0.0)


def test_text_in_place_of_the_file(place: str, file: Path) -> None:
    file.write_text("machine;pieces\nM1;12\n" * 2000)
    before = fingerprint(Path(place))
    with pytest.raises(NotABook, match="backup"):
        open_book(place, wait_seconds=0.0)
    assert fingerprint(Path(place)) == before


def test_a_file_of_another_database_program(place: str, file: Path) -> None:
    file.unlink()
    other = sqlite3.connect(file)
    other.execute("CREATE TABLE runs (run_ref TEXT)")
    other.commit()
    other.close()
    before = fingerprint(Path(place))
    with pytest.raises(NotABook, match="another program"):
        open_book(place, wait_seconds=0.0)
    assert fingerprint(Path(place)) == before


@pytest.mark.parametrize(
    "tables",
    [
        ["CREATE TABLE orders (number INTEGER)"],
        ["CREATE TABLE migrations (a INTEGER)"],
        ["CREATE TABLE migrations (number VARCHAR)", "INSERT INTO migrations VALUES ('first')"],
        ["CREATE TABLE migrations (number INTEGER)", "INSERT INTO migrations VALUES (1)"],
        ["CREATE TABLE migrations (number INTEGER)", "CREATE TABLE orders (number INTEGER)"],
    ],
)
def test_a_database_of_something_else(place: str, file: Path, tables: list[str]) -> None:
    file.unlink()
    with duckdb.connect(str(file)) as other:
        for statement in tables:
            other.execute(statement)
    before = fingerprint(Path(place))
    with pytest.raises(NotABook, match="not a book of this program"):
        open_book(place, wait_seconds=0.0)
    assert fingerprint(Path(place)) == before


def test_a_folder_in_place_of_the_file(place: str, file: Path) -> None:
    file.unlink()
    file.mkdir()
    with pytest.raises(NotABook):
        open_book(place, wait_seconds=0.0)


def test_a_book_of_a_newer_version_is_refused_untouched(place: str, file: Path) -> None:
    with duckdb.connect(str(file)) as newer:
        newer.execute(
            "INSERT INTO migrations VALUES (?, 'of next year', TIMESTAMP '2027-06-01')",
            [NEWEST + 1],
        )
    before = fingerprint(Path(place))
    with pytest.raises(BookNewer, match=f"step {NEWEST + 1}.*knows {NEWEST}"):
        open_book(place)
    assert fingerprint(Path(place)) == before


def test_a_newer_book_that_has_renamed_its_tables_is_newer_still(place: str, file: Path) -> None:
    with duckdb.connect(str(file)) as newer:
        newer.execute("ALTER TABLE runs RENAME TO sewn_runs")
        newer.execute(
            "INSERT INTO migrations VALUES (99, 'renamed', TIMESTAMP '2027-06-01')",
        )
    with pytest.raises(BookNewer):
        open_book(place)


def test_a_newer_file_format_is_refused_untouched(place: str, file: Path) -> None:
    data = bytearray(file.read_bytes())
    assert struct.unpack("<Q", data[:8])[0] == header_checksum(data[8:4096])
    data[12:20] = struct.pack("<Q", 5000)
    data[:8] = struct.pack("<Q", header_checksum(data[8:4096]))
    file.write_bytes(bytes(data))
    before = fingerprint(Path(place))
    with pytest.raises(BookNewer, match="newer database version"):
        open_book(place)
    assert fingerprint(Path(place)) == before


def header_checksum(data: bytes | bytearray) -> int:
    """The database's own checksum of a block of eight-byte words."""
    total = 5381
    for (word,) in struct.iter_unpack("<Q", data):
        total ^= word * 0xBF58476D1CE4E5B9 % 2**64
    return total


def test_a_book_of_the_first_step_opens_with_its_runs(tmp_path: Path) -> None:
    folder = tmp_path / "old"
    folder.mkdir()
    first = MIGRATIONS[0]
    assert first.number == 1
    with duckdb.connect(str(folder / FILE_NAME)) as old:
        old.execute(RECORD_OF_MIGRATIONS)
        for statement in first.statements:
            old.execute(statement)
        old.execute("INSERT INTO migrations VALUES (1, 'first', TIMESTAMP '2026-11-01')")
        old.execute(
            "INSERT INTO runs (run_ref, finished_at, pieces_inspected, gaps, content_mark, "
            "version, change_what, source, recorded_at) VALUES ('OLD-1', '2026-10-05 08:00', 40, "
            "3, 'x', 1, 'logged', 'sheet.csv', '2026-11-01')"
        )
    with open_book(str(folder)) as store:
        assert store.migrations_run == tuple(step.number for step in MIGRATIONS[1:])
        assert store.runs()["run_ref"].to_list() == ["OLD-1"]
        assert store.cells(["gaps"]).row(0, named=True)["count"] == 3
        assert store.put(frame([run("NEW-1")]), source="test").added == 1
    with open_book(str(folder)) as store:
        assert store.migrations_run == ()
        assert store.count() == 2


def test_migration_numbers_rise_one_by_one() -> None:
    assert [step.number for step in MIGRATIONS] == list(range(1, NEWEST + 1))


@pytest.mark.parametrize("statements", [[], [RECORD_OF_MIGRATIONS]])
def test_a_book_whose_making_was_cut_short_is_made_whole(
    tmp_path: Path, statements: list[str]
) -> None:
    with duckdb.connect(str(tmp_path / FILE_NAME)) as started:
        for statement in statements:
            started.execute(statement)
    with open_book(str(tmp_path)) as store:
        assert store.count() == 0
        assert store.put(frame([run("R-1")]), source="test").added == 1


def test_a_book_in_use_names_the_process(place: str) -> None:
    new_book(place).close()
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLD, place],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with holder:
        assert holder.stdout is not None
        assert holder.stdout.readline().strip() == "open"
        with pytest.raises(BookBusy, match=f"process {holder.pid}") as problem:
            open_book(place, wait_seconds=0.0)
        assert problem.value.process_id == holder.pid
        holder.communicate("\n", timeout=60)
    open_book(place, wait_seconds=0.0).close()


def test_a_command_waits_for_a_book_that_is_busy_for_a_moment(place: str) -> None:
    new_book(place).close()
    short = HOLD.replace("sys.stdin.readline()", "time.sleep(0.7)")
    with subprocess.Popen(
        [sys.executable, "-c", short, place], stdout=subprocess.PIPE, text=True
    ) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline().strip() == "open"
        with open_book(place, wait_seconds=60.0) as store:
            assert store.count() == 0


def test_opening_twice_in_one_program_names_it_and_keeps_the_lock(place: str) -> None:
    with new_book(place) as store:
        with pytest.raises(BookBusy, match="this very program") as problem:
            open_book(place, wait_seconds=0.0)
        assert problem.value.process_id == os.getpid()
        # Looking into the file by other means would have let go of the lock unseen.
        assert told_by_another_process(place) == f"BookBusy {os.getpid()}"
        assert store.put(frame([run("R-1")]), source="test").added == 1
    assert told_by_another_process(place) == "opened 1"


def test_new_refuses_what_is_there_already(place: str, file: Path, tmp_path: Path) -> None:
    before = fingerprint(Path(place))
    with pytest.raises(NotABook, match="already a book"):
        new_book(place)
    assert fingerprint(Path(place)) == before
    other = tmp_path / "papers"
    other.mkdir()
    (other / "letter.txt").write_text("kept")
    with pytest.raises(NotABook, match="not an empty folder"):
        new_book(str(other))
    assert [path.name for path in other.iterdir()] == ["letter.txt"]
    with pytest.raises(NotABook):
        new_book(str(other / "letter.txt"))


def test_settings_that_make_no_sense_let_go_of_the_book(place: str) -> None:
    new_book(place).close()
    settings = Path(place) / "shop.toml"
    settings.write_text("[shop\n")
    with pytest.raises(SettingsError, match="TOML"):
        open_book(place)
    settings.write_text("")
    assert told_by_another_process(place) == "opened 0"


def test_a_closed_book_says_so_in_words_of_ours(book, place: str) -> None:
    book.close()
    with pytest.raises(StoreError):
        book.count()
    open_book(place).close()


READ_ONLY = """
import os, sys
from logbook.errors import LogbookError
from logbook.store import new_book, open_book
new_book(sys.argv[3]).close()
open_book(sys.argv[3]).close()  # everything is imported now
if os.geteuid() == 0:
    os.setuid(65534)  # the superuser may write anywhere; this one may not
for what, place in ((open_book, sys.argv[1]), (new_book, sys.argv[2])):
    try:
        what(place)
        print("done")
    except LogbookError as problem:
        print(type(problem).__name__, problem.message)
"""


def test_a_folder_that_may_not_be_written_is_told_as_such(model: Path, tmp_path: Path) -> None:
    with tempfile.TemporaryDirectory() as parent:
        Path(parent).chmod(0o755)
        place = Path(parent) / "book"
        shutil.copytree(model, place)
        (place / FILE_NAME).chmod(0o444)
        place.chmod(0o555)
        Path(parent).chmod(0o555)
        before = fingerprint(place)
        done = subprocess.run(
            [sys.executable, "-c", READ_ONLY, str(place), f"{parent}/new", str(tmp_path / "own")],
            capture_output=True,
            text=True,
            check=True,
            timeout=60,
        )
        Path(parent).chmod(0o755)
        place.chmod(0o755)
        opened, made = done.stdout.splitlines()
        assert opened.startswith("BookReadOnly")
        assert made.startswith("BookReadOnly")
        assert fingerprint(place) == before
