"""The shipped year: made again byte for byte, and of the levels a contract shop knows."""

import csv
import datetime as dt
import io
import json
import tomllib
import zipfile
from pathlib import Path

import polars as pl
import pytest
import python_calamine

from logbook.runs.columns import run_schema
from sample_logs import FOLDER
from sample_logs.sheets import ALDER_VARIANT, SEMICOLON_MONTH, WORKBOOK_MONTH
from sample_logs.shop import FABRICS, MACHINES, OPERATORS
from sample_logs.simulate import SEED, main, make_year, write_year
from sample_logs.truth import EVENT_LOG_RATES, PIECE_LOGITS

MADE = (".csv", ".xlsx", ".toml", ".json")


@pytest.fixture(scope="module")
def again(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("year")
    write_year(folder, SEED)
    return folder


@pytest.fixture(scope="module")
def sheet() -> pl.DataFrame:
    return make_year(SEED).sheet


def contents(path: Path) -> dict[str, bytes]:
    """A file's bytes; a workbook's parts, since packing may differ between versions of zlib."""
    if path.suffix != ".xlsx":
        return {path.name: path.read_bytes()}
    with zipfile.ZipFile(path) as book:
        return {name: book.read(name) for name in book.namelist()}


def rate(frame: pl.DataFrame, count: str, exposure: str) -> float:
    both = frame.drop_nulls([count, exposure])
    return float(both[count].sum() / both[exposure].sum())


def test_shipped_files_are_what_the_simulator_makes(again: Path) -> None:
    shipped = {path.name for path in FOLDER.iterdir() if path.suffix in MADE}
    assert shipped == {path.name for path in again.iterdir()}
    for name in sorted(shipped):
        assert contents(FOLDER / name) == contents(again / name), name


def test_same_seed_same_runs_and_other_seed_other_runs() -> None:
    last = dt.date(2025, 11, 21)
    first_time, second_time = make_year(5, last=last), make_year(5, last=last)
    assert first_time.sheet.equals(second_time.sheet)
    assert not first_time.sheet.equals(make_year(6, last=last).sheet)


def test_command_writes_into_the_folder_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["--folder", str(tmp_path / "new"), "--seed", "9"])
    assert json.loads((tmp_path / "new" / "truth.json").read_text("utf-8"))["seed"] == 9
    assert "faults.csv" in capsys.readouterr().out


def test_year_has_the_runs_of_fifty_two_weeks(sheet: pl.DataFrame) -> None:
    weeks = sheet["finished_at"].dt.strftime("%G-W%V").unique()
    assert 6000 <= sheet.height <= 8000
    assert len(weeks) == 52
    assert (weeks.min(), weeks.max()) == ("2025-W47", "2026-W46")
    assert sheet["run_ref"].n_unique() == sheet.height
    assert sheet["finished_at"].dt.hour().is_between(7, 19).all()
    assert sum(machine.heads for machine in MACHINES) == 20
    assert 6 <= len(OPERATORS) <= 8


def test_levels_are_those_of_a_contract_shop(sheet: pl.DataFrame) -> None:
    assert 0.03 <= rate(sheet, "pieces_defective", "pieces_inspected") <= 0.05
    assert 0.005 <= rate(sheet, "pieces_spoiled", "pieces_sewn") <= 0.01
    stitched = sheet.with_columns(
        (pl.col("stitches_per_piece") * pl.col("pieces_sewn")).alias("stitches")
    )
    assert 2 <= 1e5 * rate(stitched, "thread_breaks", "stitches") <= 4
    assert 20 <= sheet["needle_breaks"].sum() <= 150


def test_counts_can_be_true(sheet: pl.DataFrame) -> None:
    inspected = pl.col("pieces_inspected").fill_null(pl.col("pieces_sewn"))
    impossible = sheet.filter(
        (inspected > pl.col("pieces_sewn"))
        | (pl.col("pieces_spoiled") + pl.col("pieces_reworked") > pl.col("pieces_sewn"))
        | (pl.col("pieces_defective") > inspected)
        | pl.any_horizontal(pl.col(kind) > inspected for kind in PIECE_LOGITS)
        | pl.any_horizontal(pl.col(kind) < 0 for kind in (*PIECE_LOGITS, *EVENT_LOG_RATES))
        | ((pl.col("needle_breaks") > 0) & pl.col("needle_parts_found").is_null())
        | (pl.col("head_count") > pl.col("pieces_sewn"))
    )
    assert impossible.is_empty()


def test_any_defect_is_at_least_the_worst_kind_and_at_most_their_sum(sheet: pl.DataFrame) -> None:
    kinds = [kind for kind in PIECE_LOGITS if kind != "fabric_faults"]
    known = sheet.drop_nulls(["pieces_defective", *kinds])
    assert (known["pieces_defective"] >= known.select(pl.max_horizontal(kinds)).to_series()).all()
    assert (known["pieces_defective"] <= known.select(pl.sum_horizontal(kinds)).to_series()).all()


def test_some_cells_are_empty_but_defective_pieces_nearly_never(sheet: pl.DataFrame) -> None:
    empty = {name: sheet[name].null_count() / sheet.height for name in sheet.columns}
    assert 0.04 <= empty["backing_lot"] <= 0.15
    assert 0.02 <= empty["speed_spm"] <= 0.15
    assert 0.01 <= empty["pieces_inspected"] <= 0.06
    assert empty["pieces_defective"] <= 0.01
    assert empty["finished_at"] == empty["pieces_sewn"] == 0


def test_sheets_are_kept_in_different_hands() -> None:
    plain = (FOLDER / "2026-03.csv").read_text("utf-8")
    heading = next(csv.reader(io.StringIO(plain)))
    assert heading == [name for name in run_schema() if name in heading]
    assert len(heading) >= 54
    assert "pucker_grade" not in (FOLDER / "2025-11.csv").read_text("utf-8").splitlines()[0]
    semicolons = (FOLDER / f"{SEMICOLON_MONTH}.csv").read_bytes().decode("utf-8")
    assert semicolons.startswith("\ufeffRun ref;Finished at;")
    assert ";no-show mesh;" in semicolons
    assert ";0,4;" in semicolons
    month, spelling = ALDER_VARIANT
    assert f",{spelling}," in (FOLDER / f"{month}.csv").read_text("utf-8")


def test_workbook_holds_real_dates_and_numbers(sheet: pl.DataFrame) -> None:
    book = python_calamine.CalamineWorkbook.from_path(FOLDER / f"{WORKBOOK_MONTH}.xlsx")
    heading, *rows = book.get_sheet_by_index(0).to_python()
    month = sheet.filter(sheet["finished_at"].dt.strftime("%Y-%m") == WORKBOOK_MONTH)
    kept = {name: [row[place] for row in rows] for place, name in enumerate(heading)}
    assert heading == [name for name in run_schema() if name in heading]
    assert kept["run_ref"] == month["run_ref"].to_list()
    assert kept["finished_at"] == month["finished_at"].to_list()
    assert kept["fabric_sheer"] == month["fabric_sheer"].to_list()
    assert kept["density"] == ["" if cell is None else cell for cell in month["density"]]


def test_sheets_are_small() -> None:
    sheets = [*FOLDER.glob("*.csv"), *FOLDER.glob("*.xlsx")]
    assert sum(path.stat().st_size for path in sheets) <= 4_000_000


def test_shop_file_prices_every_backing_bought(sheet: pl.DataFrame) -> None:
    settings = tomllib.loads((FOLDER / "shop.toml").read_text("utf-8"))
    priced = {(p["supplier"], p["backing"], p["gsm"]) for p in settings["price"]}
    bought = sheet.select("backing_supplier", "backing", "backing_gsm").drop_nulls().unique()
    assert set(bought.iter_rows()) <= priced
    assert {f["name"] for f in settings["fabric"]} == {fabric.name for fabric in FABRICS}
    assert set(sheet["fabric"]) == {fabric.name for fabric in FABRICS}
    cheapest = min(settings["price"], key=lambda price: float(price["per_m2"]))
    assert cheapest["supplier"] == "Dogwood"
