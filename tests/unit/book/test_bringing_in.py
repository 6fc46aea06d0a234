"""A sheet looked at, then brought in: as the import by command would, and nothing before."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from messy_sheets.styles_of_lists import undecided_dates
from messy_sheets.styles_with_titles import american_workbook

from logbook.book.bringing_in import bring_in, look_at
from logbook.book.imports import imports, kept_file
from logbook.book.sheets import import_sheets
from logbook.errors import NotAnAnswer, NotARunSheet
from logbook.store import Store, new_book

HEAD = "Date,Machine,Pcs,Rejects,Reason\n"
SEEN_FIRST = b"finished_at,machine,pieces_inspected,gaps\n2025-10-30,M1,24,99\n2025-10-31,M1,24,1\n"


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with new_book(str(tmp_path / "book")) as opened:
        yield opened


def test_looking_keeps_nothing_and_an_open_question_stops_it(store: Store) -> None:
    sheet = undecided_dates()
    found = look_at(store, sheet.file, sheet.data)
    assert found.match is not None
    with pytest.raises(NotAnAnswer):
        bring_in(store, found, sheet.data, source="test")
    assert (store.count(), imports(store)) == (0, ())


def test_what_was_looked_at_is_what_the_command_imports(store: Store, tmp_path: Path) -> None:
    sheet = american_workbook()
    found = look_at(store, sheet.file, sheet.data, answers={"stitches": "stitches_per_piece"})
    brought = bring_in(store, found, sheet.data, source="test")
    assert (brought.outcome.added, brought.read_as) == (40, "daily log")
    assert found.parsed.good["run_ref"].sort().to_list() == sorted(store.runs()["run_ref"])
    path = tmp_path / sheet.file
    path.write_bytes(sheet.data)
    assert import_sheets(store, [path]).skipped == 40
    [kept] = imports(store)
    assert kept_file(store, kept.key).read_bytes() == sheet.data
    # Known by its shape now: there is nothing to match.
    assert look_at(store, "next week.xlsx", sheet.data).match is None


def test_first_rows_beside_their_runs_and_rejects_to_mend(store: Store) -> None:
    found = look_at(store, "week.csv", SEEN_FIRST)
    wrong, right = found.first_rows(5)
    assert (wrong.number, wrong.run, found.rejected) == (2, None, 1)
    assert "99" in wrong.why
    assert ("gaps", "1") in right.stands
    assert right.run is not None
    assert right.run["gaps"] == 1
    brought = bring_in(store, found, SEEN_FIRST, source="test")
    assert brought.rejects is not None
    name, data = brought.rejects
    assert name == "week.rejects.csv"
    mended = data.replace(b",99,", b",9,")
    assert bring_in(store, look_at(store, name, mended), mended, source="test").outcome.added == 1


def test_dates_the_other_way_are_doubted_not_refused(store: Store) -> None:
    first = f"{HEAD}30/10/2025,M1,24,1,puckered x1\n".encode()
    bring_in(store, look_at(store, "a.csv", first), first, source="test")
    other = f"{HEAD}10/30/2025,M1,24,1,puckered x1\n".encode()
    found = look_at(store, "b.csv", other)
    assert found.doubt is not None
    assert "month first" in found.doubt
    assert found.match is not None


@pytest.mark.parametrize("name", ["../../etc/passwd", "..", "", "a" * 400 + ".csv", "x\\y:.csv"])
def test_a_name_leads_nowhere(store: Store, name: str) -> None:
    data = f"{HEAD}30/10/2025,M1,24,1,puckered x1\n".encode()
    bring_in(store, look_at(store, name, data), data, source="test")
    assert store.count() == 1


def test_a_table_without_names_of_columns_says_what_it_lacks(store: Store) -> None:
    with pytest.raises(NotARunSheet, match=r"x\.parquet"):
        look_at(store, "x.parquet", b"PAR1 nothing PAR1")
