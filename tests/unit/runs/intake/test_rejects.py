"""The rejects file: rows unchanged, reasons beside them, nothing half mended ever lost."""

from __future__ import annotations

import csv
import io
from datetime import datetime
from pathlib import Path
from typing import Any

import polars as pl
import pytest
import xlsxwriter

from logbook.errors import IntakeError
from logbook.runs.intake import Parsed, RawSheet, Reject, open_sheet, parse_sheet, write_rejects
from logbook.shop import Shop

NOW = datetime(2026, 11, 25, 12, 0)
HEADER = "Run ref,Finished at,Pieces sewn,Puckering,remark"
ROWS = (
    "R1,2026-10-05,24,1,fine",
    "R2,2026-10-05,24,99, two  spaces ",
    'R3,31/10/2026,24,1,"a ""quoted"", cell"',
    "R4,2026-10-05,24,1,x,stray",
    "R5,2026-10-05,24",
    "R6,2026-10-05,=1+1,1,=cmd",
)


def sheet(path: Path, *rows: str, header: str = HEADER) -> tuple[RawSheet, Parsed]:
    path.write_text("\n".join([header, *(rows or ROWS)]) + "\n", encoding="utf-8")
    return again(path)


def again(path: Path, worksheet: str | None = None) -> tuple[RawSheet, Parsed]:
    raw = open_sheet(path, sheet=worksheet)
    return raw, parse_sheet(raw, shop=Shop(), known={}, now=NOW)


def lines(path: Path, delimiter: str = ",") -> list[list[str]]:
    return list(csv.reader(io.StringIO(path.read_text(encoding="utf-8")), delimiter=delimiter))


def test_rows_are_unchanged_with_row_column_and_reason_added(tmp_path: Path) -> None:
    raw, parsed = sheet(tmp_path / "october.csv")
    path, notes = write_rejects(raw, parsed.rejects)
    assert (path, notes) == (tmp_path / "october.rejects.csv", ())
    header, *rows = lines(path)
    assert header == [*HEADER.split(","), "row", "column", "reason"]
    assert [row[:-3] for row in rows] == list(csv.reader(ROWS[1:]))
    assert [row[-3] for row in rows] == ["3", "4", "5", "6", "7"]
    assert [row[-2] for row in rows] == ["Puckering".lower(), "finished_at", "", "", "pieces_sewn"]
    assert rows[0][-1] == "puckering is 99, but only 24 pieces were sewn"


def test_unmended_it_gives_the_same_reasons_and_mended_it_is_taken(tmp_path: Path) -> None:
    raw, parsed = sheet(tmp_path / "october.csv")
    path, _ = write_rejects(raw, parsed.rejects)
    _, unmended = again(path)
    assert unmended.good.is_empty()
    assert [(r.column, r.reason) for r in unmended.rejects] == [
        (r.column, r.reason) for r in parsed.rejects
    ]
    path.write_text(path.read_text(encoding="utf-8").replace(",99,", ",9,"), encoding="utf-8")
    _, mended = again(path)
    assert mended.good["run_ref"].to_list() == ["R2"]
    assert mended.good["puckering"].item() == 9


@pytest.mark.parametrize("delimiter", [";", "\t"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_it_is_dressed_as_the_sheet_was(tmp_path: Path, delimiter: str, mark: str) -> None:
    text = mark + "\n".join([HEADER, *ROWS[:2]]).replace(",", delimiter)
    (tmp_path / "a.csv").write_text(text, encoding="utf-8")
    raw, parsed = again(tmp_path / "a.csv")
    path, _ = write_rejects(raw, parsed.rejects)
    assert path.read_text(encoding="utf-8").startswith(f"{mark}Run ref{delimiter}Finished at")


@pytest.mark.parametrize("ending", [".xlsx", ".parquet"])
def test_other_files_get_a_csv_file_too(tmp_path: Path, ending: str) -> None:
    frame = pl.DataFrame({"finished_at": [NOW], "pieces_sewn": [24], "puckering": [99.0]})
    path = tmp_path / f"a{ending}"
    frame.write_excel(path) if ending == ".xlsx" else frame.write_parquet(path)
    raw, parsed = again(path)
    written, _ = write_rejects(raw, parsed.rejects)
    assert written == tmp_path / "a.rejects.csv"
    assert lines(written)[1][:3] == ["2026-11-25T12:00:00", "24", "99"]
    assert again(written)[1].rejects[0].reason == parsed.rejects[0].reason


def test_odd_line_breaks_within_a_cell_do_not_break_the_row(tmp_path: Path) -> None:
    frame = pl.DataFrame(
        {"finished_at": [NOW], "pieces_sewn": [24], "puckering": [99], "notes": ["a\rb\nc\r\nd"]}
    )
    frame.write_parquet(tmp_path / "a.parquet")
    raw, parsed = again(tmp_path / "a.parquet")
    path, _ = write_rejects(raw, parsed.rejects)
    assert open_sheet(path).cells.rows() == raw.cells.rows()


def test_several_rejects_of_one_row_are_one_line(tmp_path: Path) -> None:
    raw, _ = sheet(tmp_path / "a.csv")
    path, _ = write_rejects(
        raw, [Reject(1, "run_ref", "taken"), Reject(0, "gaps", "why"), Reject(1, "gaps", "why")]
    )
    assert [row[-3:] for row in lines(path)[1:]] == [
        ["2", "gaps", "why"],
        ["3", "run_ref, gaps", "taken; why"],
    ]


def test_a_half_mended_file_is_never_touched(tmp_path: Path) -> None:
    raw, parsed = sheet(tmp_path / "a.csv")
    path, _ = write_rejects(raw, parsed.rejects)
    whole = path.read_bytes()
    path.write_text("half mended")
    note = "a.rejects.csv is there already and was left as found"
    for _ in range(2):
        second, notes = write_rejects(raw, parsed.rejects)
        assert (second.name, second.read_bytes()) == ("a.rejects-2.csv", whole)
        assert notes == (f"{note}; the rows rejected now are in a.rejects-2.csv",)
    second.write_text("half mended too")
    third, notes = write_rejects(raw, parsed.rejects)
    assert (third.name, third.read_bytes()) == ("a.rejects-3.csv", whole)
    assert notes[0].startswith("a.rejects.csv and a.rejects-2.csv are there already and were left")
    assert [each.read_text() for each in (path, second)] == ["half mended", "half mended too"]


def test_worksheets_of_one_workbook_have_a_file_each(tmp_path: Path) -> None:
    book = xlsxwriter.Workbook(tmp_path / "october.xlsx")
    for name, pieces in (("Hall A", 24), ("Hall <B>", 12)):
        worksheet = book.add_worksheet(name)
        worksheet.write_row(0, 0, ["finished_at", "pieces_sewn", "gaps"])
        worksheet.write_row(1, 0, ["2026-10-05", pieces, 99])
    book.close()
    written = {}
    for name in (None, "Hall A", "Hall <B>"):
        raw, parsed = again(tmp_path / "october.xlsx", name)
        path, notes = write_rejects(raw, parsed.rejects)
        assert notes == ()
        written[path.name] = lines(path)[1][1]
    assert written == {"october.rejects.csv": "24", "october.Hall _B_.rejects.csv": "12"}


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_own_columns_called_row_column_and_reason_are_kept(tmp_path: Path, ending: str) -> None:
    own = {"Row": ["3"], "Column": ["left"], "Reason": ["thread was old"]}
    frame = pl.DataFrame({"finished_at": ["2026-10-05"], "pieces_sewn": ["24"], "gaps": ["99"]})
    frame = frame.with_columns(**{name: pl.Series(cells) for name, cells in own.items()})
    path = tmp_path / f"a.{ending}"
    frame.write_csv(path) if ending == "csv" else frame.write_excel(path)
    raw, parsed = again(path)
    for name in own:
        assert f"the column '{name}' is not part of a run sheet and was ignored" in raw.notes
    header, row = lines(write_rejects(raw, parsed.rejects)[0])
    assert header == [*frame.columns, "row", "column", "reason"]
    assert row[:-3] == list(frame.row(0))
    back, _ = again(tmp_path / "a.rejects.csv")
    assert (back.headings, back.cells.row(0)) == (tuple(frame.columns), frame.row(0))


def test_the_same_again_changes_nothing(tmp_path: Path) -> None:
    raw, parsed = sheet(tmp_path / "a.csv")
    first = write_rejects(raw, parsed.rejects)
    assert write_rejects(raw, parsed.rejects) == first
    assert sorted(each.name for each in tmp_path.iterdir()) == ["a.csv", "a.rejects.csv"]


def test_where_the_folder_cannot_be_written_another_is_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    raw, parsed = sheet(tmp_path / "a.csv")
    book = tmp_path / "book"
    book.mkdir()
    _cannot_write(monkeypatch, tmp_path)
    path, notes = write_rejects(raw, parsed.rejects, fallback=book)
    assert path == book / "a.rejects.csv"
    assert lines(path)[0][-1] == "reason"
    assert "the rejects file is in" in notes[0]
    with pytest.raises(IntakeError, match="cannot be written"):
        write_rejects(raw, parsed.rejects)


def test_a_write_that_fails_leaves_no_litter(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    raw, parsed = sheet(tmp_path / "a.csv")

    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(IntakeError, match="No space left"):
        write_rejects(raw, parsed.rejects)
    assert [each.name for each in tmp_path.iterdir()] == ["a.csv"]


def _cannot_write(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    # Tests may run as root, for whom no folder is closed.
    really_open = Path.open

    def opened(self: Path, mode: str = "r", *arguments: Any, **named: Any) -> Any:
        if "x" in mode and self.parent == folder:
            raise PermissionError(13, "Permission denied")
        return really_open(self, mode, *arguments, **named)

    monkeypatch.setattr(Path, "open", opened)
