"""An export is written as a whole, or refused in words with nothing left behind."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import polars as pl
import pytest

from logbook.book.export import ENDINGS, export_runs
from logbook.errors import IntakeError
from logbook.runs.columns import run_schema
from logbook.store import new_book


def _one_run() -> pl.DataFrame:
    run = {"run_ref": "R1", "finished_at": datetime(2026, 10, 5), "pieces_inspected": 9, "gaps": 1}
    return pl.DataFrame([{name: run.get(name) for name in run_schema()}], schema=run_schema())


def test_an_unknown_ending_is_refused_with_those_that_are_known(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as store, pytest.raises(IntakeError) as refused:
        export_runs(store, tmp_path / "runs.ods")
    assert ".ods" in refused.value.message
    assert all(ending in (refused.value.hint or "") for ending in ENDINGS)
    assert not (tmp_path / "runs.ods").exists()


@pytest.mark.parametrize("ending", ENDINGS)
def test_a_missing_folder_is_refused_by_name(tmp_path: Path, ending: str) -> None:
    with new_book(str(tmp_path / "book")) as store, pytest.raises(IntakeError) as refused:
        export_runs(store, tmp_path / "nowhere" / f"runs{ending}")
    assert str(tmp_path / "nowhere") in refused.value.message
    assert ".part" not in refused.value.message


@pytest.mark.parametrize("ending", ENDINGS)
def test_a_place_that_cannot_be_taken_leaves_nothing_behind(tmp_path: Path, ending: str) -> None:
    taken = tmp_path / "out" / f"runs{ending}"
    taken.mkdir(parents=True)
    with new_book(str(tmp_path / "book")) as store:
        store.put(_one_run(), source="test")
        with pytest.raises(IntakeError, match="cannot be written"):
            export_runs(store, taken)
    assert list(taken.parent.iterdir()) == [taken]


@pytest.mark.parametrize("ending", ENDINGS)
def test_an_earlier_file_is_replaced_as_a_whole(tmp_path: Path, ending: str) -> None:
    out = tmp_path / "out" / f"runs{ending}"
    out.parent.mkdir()
    out.write_text("an earlier file\n" * 10_000)
    with new_book(str(tmp_path / "book")) as store:
        store.put(_one_run(), source="test")
        assert export_runs(store, out) == 1
    assert b"an earlier file" not in out.read_bytes()
    assert list(out.parent.iterdir()) == [out]
