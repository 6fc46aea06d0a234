"""Stitch files of designs: versions, what runs take from them, and what is refused."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from sewn_blocks import stitch_file

from logbook.book.design_files import add_design_file, file_of, measured_again, set_needles
from logbook.book.designs import design, designs
from logbook.book.export import export_runs
from logbook.book.runs import amend_run, log_run, now_at
from logbook.book.sheets import import_sheets
from logbook.errors import RecordError, StitchFileError, StoreError
from logbook.safekeeping.backups import back_up, restore
from logbook.store import new_book, open_book
from logbook.store.duckdb_store import DuckStore

OPEN, DENSE = stitch_file(), stitch_file(row_spacing_mm=0.3)
SPRING = datetime(2026, 3, 1)


@pytest.fixture
def store(tmp_path: Path) -> DuckStore:
    return new_book(str(tmp_path / "book"))


def _added(store: DuckStore, content: bytes = OPEN, name: str = "Crest", **more: object) -> str:
    added = add_design_file(store, name, content, file_name="crest.dst", source="form", **more)
    return added.design.newest.digest


def test_a_file_is_measured_and_kept(store: DuckStore) -> None:
    mark = _added(store)
    [crest] = designs(store)
    newest = crest.newest
    assert (newest.stitches, newest.colour_changes) == (480, 1)
    assert newest.step_stitches == (240, 240)
    assert newest.density_densest == pytest.approx(6 / (20 * 0.4), rel=0.03)
    assert file_of(store, newest).read_bytes() == OPEN
    assert file_of(store, newest).name == f"{mark}.dst"
    assert measured_again(store, newest).stitches == 480


def test_the_same_file_again_is_no_new_version(store: DuckStore) -> None:
    _added(store)
    again = add_design_file(store, " crest ", OPEN, file_name="b.dst", source="form")
    assert not again.is_new
    assert [version.file_name for version in again.design.versions] == ["crest.dst"]


def test_another_file_is_a_new_version_from_now_on(store: DuckStore) -> None:
    first = _added(store, since=SPRING)
    second = _added(store, DENSE)
    crest = design(store, "CREST".title())
    assert crest is not None
    assert [version.digest for version in crest.versions] == [first, second]
    early = log_run(
        store,
        {"run_ref": "A", "finished_at": "2026-04-01", "design": "crest", "puckering": 0}
        | {"pieces_inspected": 5},
        source="form",
    )
    late = log_run(
        store,
        {"design": second, "pieces_sewn": 5, "thread_breaks": 0}
        | {"finished_at": (now_at(store) + timedelta(minutes=1)).isoformat(" ")},
        source="form",
    )
    rows = {row["run_ref"]: row for row in store.runs().iter_rows(named=True)}
    assert rows[early.run_ref]["design_version"] == first
    assert rows[late.run_ref]["design"] == "Crest"
    assert rows[late.run_ref]["design_version"] == second
    assert rows[late.run_ref]["density"] == crest.versions[1].density_densest
    assert rows[late.run_ref]["stitches_per_piece"] == 480


def test_sheets_are_filled_and_come_again_without_change(store: DuckStore, tmp_path: Path) -> None:
    mark = _added(store, since=SPRING)
    sheet = tmp_path / "sheet.csv"
    sheet.write_text(
        "finished_at,design,pieces_inspected,puckering\n2026-05-01,crest,10,1\n2026-01-01,Crest,9,0\n"
    )
    assert import_sheets(store, [sheet]).added == 2
    _added(store, DENSE)
    again = import_sheets(store, [sheet])
    assert (again.added, again.skipped, again.rejected) == (0, 2, 0)
    versions = store.runs().sort("finished_at")["design_version"].to_list()
    assert versions == [None, mark]
    export_runs(store, tmp_path / "out.csv")
    back = import_sheets(store, [tmp_path / "out.csv"])
    assert (back.added, back.skipped, back.rejected) == (0, 2, 0)


def test_a_new_version_keeps_the_needles_where_the_steps_are_alike(store: DuckStore) -> None:
    _added(store, since=SPRING)
    set_needles(store, "Crest", {1: 4, 2: 7}, digest=designs(store)[0].newest.digest, source="form")
    _added(store, DENSE)
    crest = design(store, "Crest")
    assert crest is not None
    assert crest.newest.needles == (4, 7)
    _added(store, stitch_file(colours=1))
    crest = design(store, "Crest")
    assert crest is not None
    assert crest.newest.needles == ()
    with pytest.raises(RecordError, match="every colour step"):
        set_needles(store, "Crest", {1: 4, 2: 7}, digest=crest.newest.digest, source="form")
    with pytest.raises(RecordError, match="new stitch file"):
        set_needles(store, "Crest", {1: 4}, digest="0" * 16, source="form")


def test_the_file_of_another_design_is_told(store: DuckStore) -> None:
    _added(store)
    other = add_design_file(store, "Badge", OPEN, file_name="x.dst", source="form")
    assert any("the design Crest" in note for note in other.notes)


@pytest.mark.parametrize(
    ("name", "content", "file_name", "said"),
    [
        ("  ", OPEN, "a.dst", "name"),
        ("x" * 300, OPEN, "a.dst", "name"),
        ("Crest", b"", "a.dst", "a.dst"),
        ("Crest", b"no stitches here" * 100, "a.dst", "a.dst"),
        ("Crest", OPEN, "a.txt.exe", "exe"),
    ],
)
def test_what_is_no_stitch_file_is_refused_and_leaves_nothing(
    store: DuckStore, name: str, content: bytes, file_name: str, said: str
) -> None:
    with pytest.raises((RecordError, StitchFileError), match=said):
        add_design_file(store, name, content, file_name=file_name, source="form")
    assert designs(store) == ()
    assert store.folder is not None
    assert list((store.folder / "designs").iterdir()) == []


def test_a_version_cannot_begin_before_the_one_in_use(store: DuckStore) -> None:
    _added(store)
    with pytest.raises(RecordError, match="cannot begin before"):
        _added(store, DENSE, since=SPRING)


def test_a_file_that_went_missing_is_named(store: DuckStore) -> None:
    _added(store)
    newest = designs(store)[0].newest
    file_of(store, newest).unlink()
    with pytest.raises(StoreError, match="not in the book's folder any more"):
        measured_again(store, newest)


def test_designs_go_with_a_backup(store: DuckStore, tmp_path: Path) -> None:
    _added(store)
    back_up(store, tmp_path / "b.zip")
    restore(tmp_path / "b.zip", str(tmp_path / "new"))
    with open_book(str(tmp_path / "new")) as new:
        assert designs(new) == designs(store)
        assert measured_again(new, designs(new)[0].newest).stitches == 480


def test_a_missing_file_is_put_back_by_adding_it_again(store: DuckStore) -> None:
    _added(store)
    newest = designs(store)[0].newest
    file_of(store, newest).unlink()
    assert not add_design_file(store, "Crest", OPEN, file_name="b.dst", source="form").is_new
    assert measured_again(store, newest).stitches == 480
    file_of(store, newest).write_bytes(DENSE)
    with pytest.raises(StoreError, match="not the one that was measured"):
        measured_again(store, newest)


def test_a_correction_of_the_design_takes_its_own_file(store: DuckStore) -> None:
    _added(store, since=SPRING)
    _added(store, DENSE, name="Badge", since=SPRING)
    crest, badge = (each.newest for each in designs(store))
    told = {"run_ref": "A", "finished_at": "2026-04-01", "design": "Crest", "gaps": 0}
    log_run(store, told | {"pieces_inspected": 5}, source="form")

    def run() -> dict[str, object]:
        return store.runs(refs=["A"]).row(0, named=True)

    assert (run()["design_version"], run()["density"]) == (crest.digest, crest.density_densest)
    amend_run(store, "A", {"density": None}, why="guessed", source="form")
    assert (run()["design_version"], run()["density"]) == (crest.digest, None)
    amend_run(store, "A", {"design": "Badge"}, why="wrong", source="form")
    assert (run()["design_version"], run()["density"]) == (badge.digest, badge.density_densest)
    amend_run(store, "A", {"finished_at": "2026-01-05"}, why="wrong day", source="form")
    assert (run()["design_version"], run()["density"]) == (None, None)


def test_a_moment_with_a_zone_is_taken_into_the_shops_time(store: DuckStore) -> None:
    _added(store, since=datetime(2026, 3, 1, 12, tzinfo=timezone(timedelta(hours=2))))
    assert designs(store)[0].newest.since == datetime(2026, 3, 1, 10)


def test_a_run_whose_stitches_come_from_the_file_lacks_none(store: DuckStore) -> None:
    _added(store)
    told = {"design": "Crest", "pieces_sewn": 9, "pieces_inspected": 9, "thread_breaks": 1}
    told |= {"finished_at": (now_at(store) + timedelta(seconds=2)).isoformat(" ")}
    notes = log_run(store, told, source="form").notes
    assert not any("stitches they are counted" in note for note in notes)
    other = log_run(store, told | {"design": "Other"}, source="form").notes
    assert any("stitches they are counted" in note for note in other)


def test_books_in_one_process_keep_their_designs_apart(store: DuckStore, tmp_path: Path) -> None:
    first = _added(store)
    with new_book(str(tmp_path / "other")) as other:
        second = _added(other, DENSE)
        for book, mark in ((store, first), (other, second), (store, first)):
            [crest] = designs(book)
            assert crest.newest.digest == mark
            assert crest == design(book, "Crest")
