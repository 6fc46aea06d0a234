"""Runs that were kept before their design's stitch file came are known again afterwards."""

from __future__ import annotations

import hashlib
from datetime import datetime
from pathlib import Path

import pytest
from api_client import asking
from sewn_blocks import stitch_file

from logbook.book.design_files import add_design_file
from logbook.book.export import export_runs
from logbook.book.runs import amend_run, log_run, withdraw_run
from logbook.book.sheets import FileOutcome, import_sheets
from logbook.errors import RunConflict
from logbook.service.api.log_requests import MOST_RUNS
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore
from logbook.store.writer import SMALL_ROWS

FILE = stitch_file()
HASH = hashlib.sha256(FILE).hexdigest()
HEADER = "run_ref,finished_at,design,pieces_inspected,puckering"
ROWS = (f"R-1,2026-10-05,{HASH},10,1", f",2026-10-05,{HASH.upper()[:16]},9,0")


@pytest.fixture
def store(tmp_path: Path) -> DuckStore:
    return new_book(str(tmp_path / "book"))


def _sheet(tmp_path: Path, *rows: str) -> Path:
    path = tmp_path / "sheet.csv"
    path.write_text("\n".join((HEADER, *rows)) + "\n", encoding="utf-8")
    return path


def _file_comes(store: DuckStore, *, name: str = "Crest", since: datetime | None = None) -> None:
    add_design_file(store, name, FILE, file_name="crest.dst", source="form", since=since)


def _imported(store: DuckStore, path: Path, *, amend: bool = False) -> tuple[int, int, int, int]:
    [told] = import_sheets(store, [path], amend=amend).files
    assert isinstance(told, FileOutcome)
    return told.added, told.skipped, told.amended, told.rejected


def test_a_sheet_that_names_the_file_comes_again_without_change(
    store: DuckStore, tmp_path: Path
) -> None:
    sheet = _sheet(tmp_path, *ROWS)
    assert _imported(store, sheet) == (2, 0, 0, 0)
    out = tmp_path / "out.csv"
    export_runs(store, out)
    before = store.runs()
    _file_comes(store)
    assert _imported(store, sheet) == (0, 2, 0, 0)
    assert _imported(store, out) == (0, 2, 0, 0)
    assert store.runs().equals(before)
    assert not list(tmp_path.glob("*.rejects.csv"))


def test_one_that_names_the_design_comes_again_without_change(
    store: DuckStore, tmp_path: Path
) -> None:
    sheet = _sheet(tmp_path, "R-1,2026-10-05,Crest,10,1", ",2026-10-05,Crest,9,0")
    assert _imported(store, sheet) == (2, 0, 0, 0)
    _file_comes(store, since=datetime(2026, 1, 1))
    assert _imported(store, sheet) == (0, 2, 0, 0)


def test_other_content_is_a_conflict_all_the_same(store: DuckStore, tmp_path: Path) -> None:
    assert _imported(store, _sheet(tmp_path, *ROWS)) == (2, 0, 0, 0)
    _file_comes(store)
    recounted = f"R-1,2026-10-05,{HASH},10,2"
    twice = _sheet(tmp_path, ROWS[0], recounted, f"R-2,2026-10-05,{HASH},4,0")
    assert _imported(store, twice) == (1, 1, 0, 1)
    assert "R-1" in (tmp_path / "sheet.rejects.csv").read_text(encoding="utf-8")
    new = store.runs(refs=["R-2"]).row(0, named=True)
    assert (new["design"], new["design_version"]) == ("Crest", HASH[:16])


def test_amending_fills_in_what_the_file_says(store: DuckStore, tmp_path: Path) -> None:
    sheet = _sheet(tmp_path, *ROWS)
    _imported(store, sheet)
    _file_comes(store)
    assert _imported(store, sheet, amend=True) == (0, 0, 2, 0)
    assert store.runs()["design_version"].to_list() == [HASH[:16]] * 2
    assert _imported(store, sheet) == (0, 2, 0, 0)
    assert _imported(store, sheet, amend=True) == (0, 2, 0, 0)


@pytest.mark.parametrize("amend", [False, True])
def test_what_was_corrected_or_withdrawn_since_is_known_again(
    store: DuckStore, tmp_path: Path, amend: bool
) -> None:
    sheet = _sheet(tmp_path, ROWS[0], f"R-2,2026-10-05,{HASH},4,0")
    _imported(store, sheet)
    amend_run(store, "R-1", {"puckering": 3}, why="recounted", source="form")
    withdraw_run(store, "R-2", why="entered twice", source="form")
    _file_comes(store)
    changed = int(amend)
    assert _imported(store, sheet, amend=amend) == (0, 2 - changed, changed, 0)
    assert store.runs()["puckering"].to_list() == [1 if amend else 3]


def test_one_run_logged_again_is_known(store: DuckStore) -> None:
    told = {"run_ref": "R-1", "finished_at": "2026-10-05", "design": HASH, "pieces_inspected": 9}
    assert log_run(store, told | {"gaps": 1}, source="form").added
    _file_comes(store)
    assert not log_run(store, told | {"gaps": 1}, source="form").added
    with pytest.raises(RunConflict):
        log_run(store, told | {"gaps": 2}, source="form")


@pytest.mark.parametrize("runs", [1, 201, SMALL_ROWS + 1])
def test_runs_sent_again_over_http_are_known(store: DuckStore, runs: int) -> None:
    assert runs <= MOST_RUNS
    sent = [
        {"finished_at": "2026-10-05", "design": HASH, "pieces_inspected": 9, "gaps": number % 9}
        for number in range(runs)
    ]
    with asking(store) as client:
        assert client.post("/api/runs", json=sent).json()["added"] == runs
        _file_comes(store)
        again = client.post("/api/runs", json=sent)
        assert again.status_code == 200
        assert again.json()["skipped"] == runs
        recounted = [{**sent[0], "run_ref": again.json()["run_refs"][0], "gaps": 8}]
        assert client.post("/api/runs", json=recounted).status_code == 409
