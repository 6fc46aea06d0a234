"""What a backup brings back: everything, to the byte, and never half of it."""

from __future__ import annotations

import os
import threading
import time
from datetime import UTC, datetime
from pathlib import Path

import lived_in_book
import pytest
from lived_in_book import AMENDED, RUNS, WITHDRAWN

from logbook.book.export import export_runs
from logbook.book.runs import log_run
from logbook.book.sheets import import_sheets
from logbook.errors import BookReadOnly, IntakeError, LogbookError, NotABackup, NotABook
from logbook.safekeeping import backups
from logbook.safekeeping.backups import back_up, restore, sound_manifest
from logbook.safekeeping.verifying import verify_backup, verify_book
from logbook.store import new_book, open_book
from logbook.store.duckdb_store import DuckStore


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    (tmp_path / "in").mkdir()
    return lived_in_book.write_sheet(tmp_path / "in" / "october.csv")


@pytest.fixture
def archive(tmp_path: Path, sheet: Path) -> Path:
    path = tmp_path / "book.zip"
    with lived_in_book.lived_in_book(tmp_path / "book", sheet) as store:
        back_up(store, path)
    return path


def _count_past(store: DuckStore, before: int) -> int:
    """How many runs there are, once there are more than before."""
    give_up = time.monotonic() + 60
    while (count := store.count()) <= before:
        assert time.monotonic() < give_up
        time.sleep(0.005)
    return count


def _histories(store: DuckStore) -> dict[str, object]:
    refs = [*store.runs()["run_ref"].to_list(), WITHDRAWN]
    return {ref: store.history(ref) for ref in refs}


def test_a_restored_book_is_the_book(tmp_path: Path, sheet: Path, archive: Path) -> None:
    made = restore(archive, str(tmp_path / "new"))
    assert (made.runs, made.steps, made.notes) == (RUNS, (), ())
    with open_book(str(tmp_path / "book")) as old, open_book(str(tmp_path / "new")) as new:
        for ending in ("csv", "parquet"):
            was, is_ = tmp_path / f"was.{ending}", tmp_path / f"is.{ending}"
            assert export_runs(old, was) == export_runs(new, is_) == RUNS
            assert was.read_bytes() == is_.read_bytes()
        assert _histories(old) == _histories(new)
        assert len(new.history(AMENDED)) == 3
        assert new.history(WITHDRAWN)[-1].why == "entered twice"
        assert new.runs(refs=[WITHDRAWN]).is_empty()
        again = import_sheets(new, [sheet])
        # The amended and the withdrawn run are not news either.
        assert (again.added, again.amended, again.rejected) == (0, 0, 0)
        assert new.count() == RUNS
        assert verify_book(new).whole
    for name in ("shop.toml", "photos/2026/näht 1.jpg", "designs/crest.dst"):
        assert (tmp_path / "new" / name).read_bytes() == (tmp_path / "book" / name).read_bytes()
    assert {path.name for path in (tmp_path / "new").iterdir()} == {
        path.name for path in (tmp_path / "book").iterdir()
    }


def test_a_restored_book_is_worked_in_and_backed_up_as_the_same_book(
    tmp_path: Path, archive: Path
) -> None:
    restore(archive, str(tmp_path / "new"))
    with open_book(str(tmp_path / "new")) as store:
        log_run(store, {"pieces_inspected": 5, "loose_ends": 2}, source="form")
        later = back_up(store, tmp_path / "later.zip")
    assert later.runs == RUNS + 1
    first = sound_manifest(archive)
    assert later.manifest.book.mark == first.book.mark
    with new_book(str(tmp_path / "other")) as other:
        stranger = back_up(other, tmp_path / "other.zip").manifest
    assert stranger.book.mark != first.book.mark


def test_an_empty_book_goes_round(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as store:
        made = back_up(store, tmp_path / "book.zip")
    assert (made.runs, made.files_in("photos")) == (0, 0)
    restore(tmp_path / "book.zip", str(tmp_path / "new"))
    with open_book(str(tmp_path / "new")) as store:
        assert store.count() == 0
        assert verify_book(store).whole


def test_a_backup_made_while_runs_are_logged_is_of_one_moment(tmp_path: Path) -> None:
    stop = threading.Event()
    failures: list[BaseException] = []

    def log_on(store: DuckStore) -> None:
        number = 0
        try:
            while not stop.is_set():
                number += 1
                log_run(
                    store,
                    {"run_ref": f"L-{number}", "pieces_inspected": 9, "gaps": 1},
                    source="form",
                )
        except BaseException as cause:
            failures.append(cause)

    with new_book(str(tmp_path / "book")) as store:
        logging = threading.Thread(target=log_on, args=(store,))
        logging.start()
        try:
            seen: list[tuple[int, int, int]] = []
            for number in range(4):
                before = store.count()
                made = back_up(store, tmp_path / f"{number}.zip")
                seen.append((before, made.runs, store.count()))
        finally:
            stop.set()
            logging.join()
    assert failures == []
    assert all(before <= kept <= after for before, kept, after in seen)
    for number, (_, kept, _) in enumerate(seen):
        assert verify_backup(tmp_path / f"{number}.zip").whole
        restore(tmp_path / f"{number}.zip", str(tmp_path / f"new{number}"))
        with open_book(str(tmp_path / f"new{number}")) as restored:
            # Runs are logged one after another: none is missing before the last.
            assert set(restored.runs()["run_ref"]) == {f"L-{n}" for n in range(1, kept + 1)}


def test_a_kind_that_left_the_settings_is_kept(tmp_path: Path, sheet: Path) -> None:
    lived_in_book.lived_in_book(tmp_path / "book", sheet).close()
    (tmp_path / "book" / "shop.toml").write_text("", encoding="utf-8")
    with open_book(str(tmp_path / "book")) as store:
        log_run(store, {"run_ref": "N-1", "pieces_inspected": 5, "gaps": 1}, source="form")
        run = store.runs(refs=["R-1"])
        store.amend("R-1", run, why="without its loose ends", source="form")
        store.amend("R-1", run.with_columns(gaps=3), why=None, source="form")
        assert verify_book(store).problems == ()
        back_up(store, tmp_path / "book.zip")
    restore(tmp_path / "book.zip", str(tmp_path / "new"))
    (tmp_path / "new" / "shop.toml").write_text(lived_in_book.SETTINGS, encoding="utf-8")
    with open_book(str(tmp_path / "new")) as store:
        assert store.runs(refs=["R-7"])["loose_ends"].item() == 1
        assert verify_book(store).problems == ()


def test_settings_that_cannot_be_read_do_not_stand_in_the_way(tmp_path: Path, sheet: Path) -> None:
    with lived_in_book.lived_in_book(tmp_path / "book", sheet) as store:
        (tmp_path / "book" / "shop.toml").write_text("[shop\n", encoding="utf-8")
        back_up(store, tmp_path / "book.zip")
    assert restore(tmp_path / "book.zip", str(tmp_path / "new")).runs == RUNS
    assert (tmp_path / "new" / "shop.toml").read_text(encoding="utf-8") == "[shop\n"


def test_an_empty_folder_is_taken_and_a_full_one_left_alone(tmp_path: Path, archive: Path) -> None:
    (tmp_path / "empty").mkdir()
    assert restore(archive, str(tmp_path / "empty")).runs == RUNS
    full = tmp_path / "full"
    full.mkdir()
    (full / "letter.txt").write_text("dear")
    before = sorted(tmp_path.iterdir())
    for place in (full, full / "letter.txt", tmp_path / "book"):
        with pytest.raises(NotABook, match="not an empty folder"):
            restore(archive, str(place))
    assert sorted(tmp_path.iterdir()) == before
    assert [path.name for path in full.iterdir()] == ["letter.txt"]


def test_a_folder_within_folders_that_are_not_there_yet(tmp_path: Path, archive: Path) -> None:
    assert restore(archive, str(tmp_path / "far" / "off" / "book")).runs == RUNS


def test_what_an_earlier_restore_left_is_told(tmp_path: Path, archive: Path) -> None:
    left = tmp_path / ".new.abc.restoring"
    left.mkdir()
    [note] = restore(archive, str(tmp_path / "new")).notes
    assert str(left) in note
    assert left.exists()


def test_a_file_in_place_of_the_parent_folder(tmp_path: Path, archive: Path) -> None:
    (tmp_path / "file").write_text("a file")
    with pytest.raises(BookReadOnly, match="cannot be restored"):
        restore(archive, str(tmp_path / "file" / "book"))


def test_a_backup_replaces_a_backup_and_nothing_else(
    tmp_path: Path, sheet: Path, archive: Path
) -> None:
    with open_book(str(tmp_path / "book")) as store:
        log_run(store, {"pieces_inspected": 5, "gaps": 0}, source="form")
        made = back_up(store, archive)
        assert made.runs == RUNS + 1
        [note] = made.notes
        assert f"was replaced: of {datetime.now(UTC):%Y}" in note
        assert note.endswith(f"with {RUNS} runs.")
        before = sheet.read_bytes()
        with pytest.raises(NotABackup, match="was not written over"):
            back_up(store, sheet)
        assert sheet.read_bytes() == before
        with pytest.raises(NotABackup, match="is a folder"):
            back_up(store, tmp_path)
        with pytest.raises(IntakeError, match="cannot be written"):
            back_up(store, tmp_path / "nowhere" / "book.zip")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["book", "book.zip", "in"]


def test_it_says_whose_backup_was_replaced(tmp_path: Path, archive: Path) -> None:
    with new_book(str(tmp_path / "other"), settings='[shop]\nname = "Birch Street"\n') as store:
        assert back_up(store, tmp_path / "new.zip").notes == ()
        assert "another book" in back_up(store, archive).notes[0]
        [again] = back_up(store, archive).notes
        assert "with 0 runs." in again
        assert "another book" not in again
    with open_book(str(tmp_path / "book")) as store:
        assert "another book (Birch Street)" in back_up(store, archive).notes[0]


def test_a_backup_that_cannot_be_finished_leaves_the_earlier_one(
    tmp_path: Path, archive: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = archive.read_bytes()
    with open_book(str(tmp_path / "book")) as store:
        monkeypatch.setattr(backups, "damage_of", lambda *_: (("archive", "is cut short"),))
        with pytest.raises(LogbookError, match="did not reach the disk"):
            back_up(store, archive)
    assert archive.read_bytes() == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["book", "book.zip", "in"]


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_a_photo_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as store:
        photo = tmp_path / "book" / "photos" / "p.jpg"
        photo.write_bytes(b"x")
        photo.chmod(0)
        with pytest.raises(LogbookError, match=r"p\.jpg cannot be read"):
            back_up(store, tmp_path / "book.zip")
    assert not (tmp_path / "book.zip").exists()


def test_a_half_written_photo_is_left_out(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as store:
        (tmp_path / "book" / "photos" / ".p.jpg.part").write_bytes(b"x")
        (tmp_path / "book" / "photos" / "p.jpg").write_bytes(b"x")
        assert back_up(store, tmp_path / "book.zip").files_in("photos") == 1


def test_it_says_when_it_was_made(archive: Path) -> None:
    age = datetime.now(UTC) - sound_manifest(archive).made_at
    assert 0 <= age.total_seconds() < 300
