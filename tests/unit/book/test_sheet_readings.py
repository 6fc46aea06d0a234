"""Readings kept by the book: found again by a sheet's shape, and nothing doubled."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from messy_sheets.styles_of_lists import bad_runs_alone, undecided_dates
from messy_sheets.styles_with_titles import american_workbook

from logbook.book.sheet_readings import keep_reading, match_file, sheet_readings
from logbook.book.sheets import import_sheets
from logbook.errors import NotAnAnswer, NotARunSheet
from logbook.store import Store, new_book

HEAD = "Date,Machine,Pcs,Rejects,Reason\n"


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with new_book(str(tmp_path / "book")) as opened:
        yield opened


def keep(store: Store, path: Path, **answers: str) -> str | None:
    found = match_file(store, path, answers=answers, take_best=True)
    return keep_reading(store, found, source="test").kept_as


def sheet(tmp_path: Path, name: str, *rows: str) -> Path:
    path = tmp_path / name
    path.write_text(HEAD + "".join(f"{row}\n" for row in rows), encoding="utf-8")
    return path


def test_next_weeks_sheet_comes_in_by_import_alone(store: Store, tmp_path: Path) -> None:
    first = sheet(tmp_path, "week 44.csv", "30/10/2025,M1,24,1,puckered x1", "31/10/2025,M1,24,0,")
    assert keep(store, first) == "week"
    assert import_sheets(store, [first]).added == 2
    # The new sheet alone could not tell which number is the day.
    second = sheet(tmp_path, "week 45.csv", "03/11/2025,M1,24,2,2 crooked", "04/11/2025,M2,6,0,")
    result = import_sheets(store, [second])
    assert (result.added, result.rejected) == (2, 0)
    runs = store.runs()
    assert [str(day)[:10] for day in runs["finished_at"]] == [
        "2025-10-30",
        "2025-10-31",
        "2025-11-03",
        "2025-11-04",
    ]
    assert runs["puckering"].to_list() == [1, 0, 0, 0]
    assert runs["misplacement"].to_list() == [None, None, 2, 0]
    assert import_sheets(store, [first, second]).added == 0


def test_another_reading_of_the_same_rows_makes_no_second_run(store: Store, tmp_path: Path) -> None:
    path = sheet(tmp_path, "week.csv", "30/10/2025,M1,24,1,cap slipped", "31/10/2025,M1,24,0,")
    keep(store, path)
    import_sheets(store, [path])
    assert store.runs()["misplacement"].to_list() == [None, None]
    keep(store, path, **{"reasons.cap slipped": "misplacement"})
    again = import_sheets(store, [path], amend=True)
    assert (again.added, again.amended) == (0, 2)
    assert store.runs()["misplacement"].to_list() == [1, 0]
    assert len(sheet_readings(store)) == 1


def test_dates_written_the_other_way_are_refused(store: Store, tmp_path: Path) -> None:
    keep(store, sheet(tmp_path, "a.csv", "30/10/2025,M1,24,1,puckered x1"))
    with pytest.raises(NotARunSheet, match="month first"):
        import_sheets(store, [sheet(tmp_path, "b.csv", "10/30/2025,M1,24,1,puckered x1")])


def test_a_date_order_that_nothing_settles_is_never_taken(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "march.csv"
    path.write_bytes(undecided_dates().data)
    found = match_file(store, path, take_best=True)
    assert [question.id for question in found.matched.unsettled] == ["dates"]
    with pytest.raises(NotAnAnswer):
        keep_reading(store, found, source="test")
    assert keep(store, path, dates="month_first") == "march"


def test_runs_of_a_sheet_of_bad_runs_are_in_no_rate(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "rejects.csv"
    path.write_bytes(bad_runs_alone().data)
    keep(store, path)
    result = import_sheets(store, [path])
    assert result.added == 30
    assert store.cells(["any"])["exposure"].sum() == 0
    assert all("puckered" in n or "Qty rejected" in n for n in store.runs()["notes"])


def test_an_answer_that_is_none_of_the_choices(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    path.write_bytes(american_workbook().data)
    with pytest.raises(NotAnAnswer):
        match_file(store, path, answers={"stitches": "perhaps"})
    with pytest.raises(NotAnAnswer):
        match_file(store, path, answers={"colour": "red"})
