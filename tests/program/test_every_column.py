"""Every column of the table walks through every face: none is strange in any."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from api_client import TestClient, asking
from streamlit.testing.v1 import AppTest
from typer.testing import CliRunner

from dashboards.run_entry.typed import told
from logbook import service
from logbook.adjusted_comparison import CELLS_BY
from logbook.book.export import ENDINGS, export_runs
from logbook.book.runs import log_run
from logbook.book.sheets import import_sheets
from logbook.cli.app import application
from logbook.questions.advice.job import SETUP, SURROUNDINGS
from logbook.runs.columns import COLUMNS, MADE_COLUMNS, Column, run_schema
from logbook.runs.factors import COMPARED, FACTORS, factor_label
from logbook.safekeeping.backups import back_up, restore
from logbook.store import Window, new_book, open_book
from logbook.store.duckdb_store import DuckStore
from logbook.store.migrations import FIRST_COLUMNS, MIGRATIONS
from logbook.vocabulary import DEFECT_KINDS
from logbook.vocabulary.bands import band_of

APP = Path(__file__).parents[2] / "dashboards" / "app.py"
THE_RUN = "Walk-1"
_GIVEN: dict[str, Any] = {
    "run_ref": THE_RUN,
    "finished_at": datetime(2026, 10, 5, 14, 30),
    "pieces_sewn": 100,
    "pieces_inspected": 90,
    "pieces_defective": 40,
    "needle_nm": 75,
    "pucker_grade": 3.5,
}
"""What cannot be any value: the rest is made up by type."""


def value_of(column: Column) -> Any:
    """Return a value that the column can have, beside those of the others."""
    if column.name in _GIVEN:
        return _GIVEN[column.name]
    if column.choices is not None:
        return column.choices.values[1]
    match column.type:
        case "text":
            return f"{column.name.title()} 17"
        case "boolean":
            return True
        case "integer":
            return max(int(column.lowest or 0), 2)
        case _:
            return max(column.lowest or 0, 1.5)


WHOLE: dict[str, Any] = {column.name: value_of(column) for column in COLUMNS}
MADE: dict[str, Any] = {"weekday": "monday", "needle_age_stitches": 0.0}
"""What the book makes of it: a new needle was fitted before it."""
ASKING = f"[form]\nask = {[each.name for each in COLUMNS if each.where_used]}\n"


def as_text(value: Any) -> str:
    return "true" if value is True else "" if value is None else str(value)


def heading_of(column: Column) -> str:
    """A heading as a person may write it: ``Backing gsm (g/m²)``."""
    unit = f" ({column.unit})" if column.unit else ""
    return f"{column.name.replace('_', ' ').capitalize()}{unit}"


@pytest.fixture
def book(tmp_path: Path) -> Iterator[DuckStore]:
    """A book with the run that has everything, as a sheet brought it."""
    sheet = tmp_path / "sheet.csv"
    row = pl.DataFrame({heading_of(each): [as_text(WHOLE[each.name])] for each in COLUMNS})
    row.write_csv(sheet)
    with new_book(str(tmp_path / "book")) as store:
        brought = import_sheets(store, [sheet])
        assert (brought.added, brought.files[0].rejects) == (1, ())
        yield store


@pytest.fixture
def api(tmp_path: Path) -> Iterator[TestClient]:
    """The API over a book with that run and one that has next to nothing."""
    store = new_book(str(tmp_path / "served"))
    with asking(store) as client:
        assert client.post("/api/runs", json=sent(WHOLE)).status_code == 201
        bare = {"run_ref": "bare", "finished_at": "2026-10-06", "pieces_sewn": 9, "gaps": 0}
        assert client.post("/api/runs", json=bare).status_code == 201
        yield client


def sent(run: dict[str, Any]) -> dict[str, Any]:
    told = {name: value for name, value in run.items() if value is not None}
    return told | {"finished_at": run["finished_at"].isoformat()}


def test_import_by_heading_keeps_every_column(book: DuckStore) -> None:
    assert book.runs().row(0, named=True) == WHOLE


@pytest.mark.parametrize("ending", ENDINGS)
def test_what_is_exported_comes_again_without_change(
    book: DuckStore, tmp_path: Path, ending: str
) -> None:
    out = tmp_path / f"out{ending}"
    export_runs(book, out)
    again = import_sheets(book, [out])
    assert (again.added, again.skipped, again.rejected) == (0, 1, 0)
    with new_book(str(tmp_path / "other")) as other:
        import_sheets(other, [out])
        assert other.runs().equals(book.runs())


def test_a_backup_brings_every_column_back(book: DuckStore, tmp_path: Path) -> None:
    back_up(book, tmp_path / "walk.zip")
    restore(tmp_path / "walk.zip", str(tmp_path / "restored"))
    with open_book(str(tmp_path / "restored")) as restored:
        assert restored.runs().equals(book.runs())


def test_one_run_from_the_command_line(tmp_path: Path) -> None:
    place = str(tmp_path / "book")
    new_book(place).close()
    words = [f"{name}={as_text(value)}" for name, value in WHOLE.items() if value is not None]
    done = CliRunner().invoke(application, ["--book", place, "add", *words, "--json"])
    assert done.exit_code == 0, done.output
    assert json.loads(done.stdout)["run_ref"] == THE_RUN
    with open_book(place) as store:
        assert store.runs().row(0, named=True) == WHOLE


def test_the_api_answers_and_corrects_every_column(api: TestClient) -> None:
    run = api.get(f"/api/runs/{THE_RUN}").json()
    assert {name: run[name] for name in WHOLE} == dict.fromkeys(WHOLE) | sent(WHOLE)
    kept = ("identity", "exposure", "outcome", "safety")
    names = [column.name for column in COLUMNS if column.role not in kept]
    for values in (dict.fromkeys(names), {name: WHOLE[name] for name in names}):
        corrected = api.patch(f"/api/runs/{THE_RUN}", json=values)
        assert {name: corrected.json()[name] for name in names} == values, corrected.text


def test_the_api_describes_every_column(api: TestClient) -> None:
    schemas = api.get("/api/openapi.json").json()["components"]["schemas"]
    for name in ("RunToLog", "RunCorrection", "Run"):
        assert set(run_schema()) <= set(schemas[name]["properties"])


def test_the_api_filters_by_every_column_that_groups(api: TestClient) -> None:
    for factor in FACTORS:
        value = (WHOLE | MADE)[factor.of.name]
        if value is None:
            continue
        band = band_of(value, factor.bands) if factor.bands else None
        asked = {factor.column: as_text(value) if band is None else band.name}
        found = api.get("/api/runs", params=asked).json()
        assert [run["run_ref"] for run in found["runs"]] == [THE_RUN], asked


def test_runs_are_grouped_by_every_column_that_groups(book: DuckStore) -> None:
    for column in (each for each in (*COLUMNS, *MADE_COLUMNS) if each.groupable):
        value = (WHOLE | MADE)[column.name]
        assert book.totals(by=(column.name,))[column.name].to_list() == [value]
        assert book.cells(["any"], by=(column.name,))[column.name].to_list() == [value]
        assert factor_label(column.name).startswith(column.label)


def test_it_can_be_asked_where_by_columns_of_every_type(api: TestClient) -> None:
    asked = [each for each in FACTORS if each.role not in ("safety", "outcome")]
    for factor in {(each.of.type, bool(each.bands)): each for each in asked}.values():
        told = api.get("/api/where", params={"by": factor.column})
        assert told.status_code == 200, told.text


def test_every_column_has_a_step_of_the_book() -> None:
    first = {definition.split()[0] for definition in FIRST_COLUMNS.split(",")}
    assert first <= set(run_schema())
    later = {word for step in MIGRATIONS for line in step.statements for word in line.split()}
    lacking = set(run_schema()) - first - later
    assert not lacking, f"add a Migration to store/migrations.py for {lacking}"


def test_what_may_be_a_factor_is_compared_and_advised_on() -> None:
    factors = {each.column for each in COMPARED}
    assert factors == {each.band or each.name for each in (*COLUMNS, *MADE_COLUMNS) if each.factor}
    assert factors <= set(CELLS_BY)
    setup = {each.column for each in COMPARED if each.role == "setup"}
    assert set(SETUP) == setup
    assert set(SURROUNDINGS) | {"fabric", "fabric_shade", "density_band"} == factors - setup


def test_what_the_book_makes_of_a_run_is_told(book: DuckStore, api: TestClient) -> None:
    assert {each.name for each in MADE_COLUMNS} == set(MADE)
    made = book.made().row(0, named=True)
    assert made == {"run_ref": THE_RUN, "shift": WHOLE["shift"], **MADE}
    run = api.get(f"/api/runs/{THE_RUN}").json()
    assert {name: run[name] for name in MADE} == MADE


def test_every_text_is_searched(book: DuckStore) -> None:
    for column in COLUMNS:
        if column.type == "text" and WHOLE[column.name]:
            assert book.runs(Window(words=(WHOLE[column.name].upper(),))).height == 1


def test_the_form_asks_for_and_logs_what_has_a_group(tmp_path: Path) -> None:
    on_the_form = {each.name for each in COLUMNS if each.form}
    typed = WHOLE | {"defective_told": True}
    store = new_book(str(tmp_path / "book"), settings=ASKING)
    service.set_book(store)
    try:
        app = AppTest.from_file(str(APP), default_timeout=120).run()
        app.switch_page("views/log.py").run()
        assert not app.exception
        drawn = {name for name in on_the_form if f"run.{name}" in app.session_state}
        counted = {each.name for each in COLUMNS if each.form == "Counts"}
        assert on_the_form - counted <= drawn
        assert on_the_form <= set(told(store, typed.get))
        log_run(store, told(store, typed.get), source="form")
        logged = store.runs().row(0, named=True)
        assert {name: logged[name] for name in on_the_form} == {
            name: WHOLE[name] for name in on_the_form
        }
    finally:
        service.close_book()


def test_the_page_of_runs_narrows_down_to_it(book: DuckStore) -> None:
    from dashboards.run_pages.asked import columns_of

    offered = {factor.of.name for factor in FACTORS if factor.column in columns_of(book)}
    assert offered | {"site"} == {each.of.name for each in FACTORS}


def test_runs_are_found_by_the_value_of_any_column(api: TestClient) -> None:
    for column in (each for each in COLUMNS if each.type != "moment" and each.role != "note"):
        asked = {column.name: as_text(WHOLE[column.name])}
        found = api.get("/api/runs", params=asked).json()
        assert [run["run_ref"] for run in found["runs"]] == [THE_RUN], (asked, found)


def test_every_kind_is_counted(book: DuckStore) -> None:
    cells = book.cells([kind.name for kind in DEFECT_KINDS])
    assert dict(cells.select("kind", "count").iter_rows()) == {
        kind.name: WHOLE[kind.name] for kind in DEFECT_KINDS
    }


def test_the_review_speaks_of_every_kind(api: TestClient) -> None:
    week = api.get("/api/review").json()
    counted = {each["kind"]: each["count"] for each in week["defects"]}
    charged = [kind.name for kind in DEFECT_KINDS if kind.charged_to_setup]
    assert counted == {name: WHOLE[name] for name in charged}
