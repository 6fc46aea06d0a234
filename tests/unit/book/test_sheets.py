"""Sheets in: what is taken, what goes to the rejects file, and what is never touched."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

import pytest

from logbook.book.sheets import import_sheets
from logbook.errors import NotARunSheet
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore

HEADER = "run_ref,finished_at,pieces_inspected,puckering"
SETTINGS = """
[[defect_kind]]
name = "loose_ends"
label = "Loose ends"
measure = "pieces"
definition = "A thread end longer than 5 mm on the face."
"""


@pytest.fixture
def book(tmp_path: Path) -> Iterator[DuckStore]:
    with new_book(str(tmp_path / "book")) as store:
        yield store


def _sheet(tmp_path: Path, *rows: str, name: str = "sheet.csv", header: str = HEADER) -> Path:
    folder = tmp_path / "in"
    folder.mkdir(exist_ok=True)
    path = folder / name
    path.write_text("\n".join((header, *rows)) + "\n", encoding="utf-8")
    return path


def _puckering(store: DuckStore) -> dict[str, int]:
    runs = store.runs()
    return dict(zip(runs["run_ref"], runs["puckering"], strict=True))


def test_good_rows_are_taken_and_the_others_can_be_mended(book: DuckStore, tmp_path: Path) -> None:
    sheet = _sheet(
        tmp_path,
        "R1,2026-10-05,10,1",
        "R2,2026-10-05,10,11",
        "R3,yesterday,10,0",
        "R4,2026-10-06,9,",
    )
    outcome = import_sheets(book, [sheet]).files[0]
    assert (outcome.rows, outcome.added, outcome.skipped, outcome.rejected) == (4, 2, 0, 2)
    assert [(each.row, each.column) for each in outcome.rejects] == [
        (3, "puckering"),
        (4, "finished_at"),
    ]
    rejects = sheet.with_name("sheet.rejects.csv")
    assert outcome.rejects_file == str(rejects)
    with rejects.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [row["puckering"] for row in rows] == ["11", "0"], "unchanged"
    assert [row["row"] for row in rows] == ["3", "4"]

    text = rejects.read_text(encoding="utf-8")
    mended = _sheet(tmp_path, name="mended.csv")
    mended.write_text(text.replace("10,11,", "10,2,").replace("yesterday", "2026-10-04"))
    again = import_sheets(book, [mended])
    assert (again.added, again.rejected) == (2, 0)
    assert _puckering(book) == {"R1": 1, "R2": 2, "R3": 0, "R4": None}


def test_a_second_import_skips_everything(book: DuckStore, tmp_path: Path) -> None:
    sheet = _sheet(tmp_path, "R1,2026-10-05,10,1", ",2026-10-05,10,1", ",2026-10-05,10,1")
    assert import_sheets(book, [sheet]).added == 3
    again = import_sheets(book, [sheet])
    assert (again.added, again.skipped, again.rejected) == (0, 3, 0)


def test_other_content_is_a_conflict_unless_amending(book: DuckStore, tmp_path: Path) -> None:
    import_sheets(book, [_sheet(tmp_path, "R1,2026-10-05,10,1")])
    changed = _sheet(tmp_path, "R1,2026-10-05,10,4", "R2,2026-10-05,10,0", name="changed.csv")
    refused = import_sheets(book, [changed])
    assert (refused.added, refused.amended, refused.rejected) == (1, 0, 1)
    assert refused.files[0].rejects[0].column == "run_ref"
    assert "--amend" in refused.files[0].rejects[0].reason
    assert _puckering(book)["R1"] == 1

    taken = import_sheets(book, [changed], amend=True)
    assert (taken.amended, taken.skipped, taken.rejected) == (1, 1, 0)
    assert _puckering(book)["R1"] == 4
    assert [change.content["puckering"] for change in book.history("R1")] == [1, 4]


def test_a_dry_run_says_the_same_and_writes_nothing(book: DuckStore, tmp_path: Path) -> None:
    sheet = _sheet(tmp_path, "R1,2026-10-05,10,1", "R2,2026-10-05,10,11")
    dry = import_sheets(book, [sheet], dry_run=True)
    assert (dry.added, dry.rejected) == (1, 1)
    assert dry.files[0].rejects_file is None
    assert dry.as_json()["dry_run"] is True
    assert book.count() == 0
    assert list(sheet.parent.iterdir()) == [sheet]
    wet = import_sheets(book, [sheet])
    assert (wet.added, wet.rejected) == (dry.added, dry.rejected)
    assert wet.files[0].rejects == dry.files[0].rejects


def test_one_refused_file_keeps_the_others_out(book: DuckStore, tmp_path: Path) -> None:
    good = _sheet(tmp_path, "R1,2026-10-05,10,1", "R2,2026-10-05,10,99")
    bad = _sheet(tmp_path, "1,2", name="bad.csv", header="height,width")
    with pytest.raises(NotARunSheet, match=r"bad\.csv"):
        import_sheets(book, [good, bad])
    assert book.count() == 0
    assert sorted(path.name for path in good.parent.iterdir()) == ["bad.csv", "sheet.csv"]


def test_the_kinds_of_the_shop_are_columns_of_its_sheets(tmp_path: Path) -> None:
    sheet = _sheet(
        tmp_path, "R1,2026-10-05,10,3", "R2,2026-10-05,10,11",
        header="run_ref,finished_at,pieces_inspected,Loose ends",
    )  # fmt: skip
    with new_book(str(tmp_path / "book"), settings=SETTINGS) as store:
        outcome = import_sheets(store, [sheet]).files[0]
        assert store.runs()["loose_ends"].to_list() == [3]
    assert [each.column for each in outcome.rejects] == ["loose_ends"]


def test_several_files_are_counted_each_and_together(book: DuckStore, tmp_path: Path) -> None:
    one = _sheet(tmp_path, "R1,2026-10-05,10,1", name="one.csv")
    two = _sheet(tmp_path, "R1,2026-10-05,10,1", "R2,2026-10-05,10,11", name="two.csv")
    result = import_sheets(book, [one, two])
    assert [(each.added, each.skipped, each.rejected) for each in result.files] == [
        (1, 0, 0),
        (0, 1, 1),
    ]
    answer = result.as_json()
    assert (answer["added"], answer["skipped"], answer["rejected"]) == (1, 1, 1)


def test_held_runs_are_named(book: DuckStore, tmp_path: Path) -> None:
    sheet = _sheet(
        tmp_path,
        "R1,2026-10-05,10,1,1,false",
        "R2,2026-10-05,10,1,1,true",
        "R3,2026-10-05,10,1,0,",
        header=f"{HEADER},needle_breaks,needle_parts_found",
    )
    assert import_sheets(book, [sheet]).files[0].held == ("R1",)


def test_progress_ends_at_the_number_of_rows(book: DuckStore, tmp_path: Path) -> None:
    told: list[tuple[str, int, int]] = []
    sheet = _sheet(tmp_path, "R1,2026-10-05,10,1", "R2,2026-10-05,10,2")
    import_sheets(book, [sheet], progress=lambda *step: told.append(step))
    last = {what: (done, total) for what, done, total in told}
    assert last == {"sheet.csv: checking": (2, 2), "sheet.csv: keeping": (2, 2)}
