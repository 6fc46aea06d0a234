"""Opening a run sheet: the same rows whatever the file, and one message where it is none."""

from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest

from logbook.errors import NotARunSheet
from logbook.runs.intake.sheet import open_sheet

HEADER = "Finished at,Pieces sewn,weather,gaps"
FRAME = pl.DataFrame(
    {
        "Finished at": ["2026-10-05", "2026-10-06"],
        "Pieces sewn": ["24", "12"],
        "weather": ["rain", ""],
        "gaps": ["1", "0"],
    }
)


def written(path: Path) -> Path:
    if path.suffix == ".xlsx":
        FRAME.write_excel(path)
    elif path.suffix == ".parquet":
        FRAME.write_parquet(path)
    else:
        FRAME.write_csv(path)
    return path


def refusal(path: Path) -> NotARunSheet:
    with pytest.raises(NotARunSheet) as caught:
        open_sheet(path)
    return caught.value


@pytest.mark.parametrize("name", ["a.csv", "a.txt", "A.CSV", "a.xlsx", "a.parquet"])
def test_the_same_sheet_from_any_file(tmp_path: Path, name: str) -> None:
    raw = open_sheet(written(tmp_path / name))
    assert raw.names == ("finished_at", "pieces_sewn", None, "gaps")
    assert raw.headings == tuple(HEADER.split(","))
    assert raw.cells.rows() == FRAME.rows()
    assert raw.numbers.to_list() == [2, 3]
    assert raw.rows == 2
    assert raw.notes == ("the column 'weather' is not part of a run sheet and was ignored",)


def test_what_a_dot_means_depends_on_the_delimiter(tmp_path: Path) -> None:
    dots = {}
    for name, delimiter in (("a.csv", ","), ("b.csv", ";"), ("c.csv", "\t")):
        FRAME.write_csv(tmp_path / name, separator=delimiter)
        dots[delimiter] = open_sheet(tmp_path / name).dot_is_decimal
    assert dots == {",": True, ";": False, "\t": False}
    assert open_sheet(written(tmp_path / "a.parquet")).dot_is_decimal


def test_empty_rows_are_left_out_and_counted_on(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text(f"{HEADER}\n2026-10-05,24,,1\n,,,\n , ,, \n,,rain,\n2026-10-06,12,,0\n")
    raw = open_sheet(path)
    assert raw.numbers.to_list() == [2, 5, 6]


def test_a_row_with_nothing_but_cells_past_the_header_is_not_lost(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text(f"{HEADER}\n,,,\n,,,,stray\n2026-10-06,12,,0\n")
    raw = open_sheet(path)
    assert raw.numbers.to_list() == [3, 4]
    assert list(raw.misshapen) == [0]


def test_a_column_without_a_heading_is_told_if_it_holds_something(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("finished_at,pieces_sewn,gaps,\n2026-10-05,24,1,\n")
    assert open_sheet(path).notes == ()
    path.write_text("finished_at,pieces_sewn,gaps,\n2026-10-05,24,1,stray\n")
    assert open_sheet(path).notes == ("a column without a heading was ignored",)


def test_columns_of_a_rejects_file_are_dropped(tmp_path: Path) -> None:
    path = tmp_path / "a.rejects.csv"
    path.write_text("finished_at,pieces_sewn,gaps,row,column,reason\n2026-10-05,24,1,7,gaps,why\n")
    raw = open_sheet(path)
    assert raw.headings == ("finished_at", "pieces_sewn", "gaps")
    assert raw.cells.rows() == [("2026-10-05", "24", "1")]


def test_a_sheet_without_rows_says_so(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text(f"{HEADER}\n")
    raw = open_sheet(path)
    assert raw.rows == 0
    assert "the sheet has a header and no rows" in raw.notes


def test_there_is_no_file(tmp_path: Path) -> None:
    assert "There is no file" in refusal(tmp_path / "a.csv").message
    assert "There is no file" in refusal(tmp_path / "a.docx").message


def test_a_folder_is_no_sheet(tmp_path: Path) -> None:
    (tmp_path / "a.csv").mkdir()
    assert "is a folder" in refusal(tmp_path / "a.csv").message
    assert "is a folder" in refusal(tmp_path).message


@pytest.mark.parametrize("name", ["a.csv", "a.xlsx", "a.parquet"])
@pytest.mark.parametrize("data", [b"", b"\xef\xbb\xbf", b" \r\n\n"])
def test_an_empty_file_is_said_to_be_empty(tmp_path: Path, name: str, data: bytes) -> None:
    (tmp_path / name).write_bytes(data)
    assert "is empty" in refusal(tmp_path / name).message


def test_an_unknown_ending_is_refused_with_the_known_ones(tmp_path: Path) -> None:
    (tmp_path / "a.docx").write_bytes(b"x")
    error = refusal(tmp_path / "a.docx")
    assert ".csv" in str(error.hint)
    assert ".parquet" in str(error.hint)


@pytest.mark.parametrize("ending", [".xlsx", ".parquet"])
def test_a_misnamed_file_is_told_what_it_is(tmp_path: Path, ending: str) -> None:
    path = written(tmp_path / f"a{ending}").rename(tmp_path / "a.csv")
    error = refusal(path)
    assert f"looks like {ending}" in error.message


def test_a_name_that_no_file_can_have() -> None:
    assert "cannot be read" in refusal(Path("a\x00.csv")).message
