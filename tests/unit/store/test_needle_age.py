"""The age of a needle: made of the runs as they stand, whatever order they came in."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from run_frames import frame

from logbook.store import Window, new_book
from logbook.store.duckdb_store import DuckStore

M1 = {"machine": "M1", "head_count": 4, "pieces_sewn": 10, "puckering": 0}


def run(ref: str, hour: int, stitches: float | None = None, **more: Any) -> dict[str, Any]:
    at = datetime(2026, 10, 5, hour)
    return {"run_ref": ref, "finished_at": at, "stitches_sewn": stitches, **M1, **more}


@pytest.fixture
def store(tmp_path: Path) -> DuckStore:
    return new_book(str(tmp_path / "book"))


def ages(store: DuckStore, **asked: Any) -> Mapping[str, float | None]:
    return dict(store.made(**asked).select("run_ref", "needle_age_stitches").iter_rows())


def test_the_age_is_what_a_head_had_sewn_when_the_run_began(store: DuckStore) -> None:
    runs = [
        run("before", 6, 800_000.0),
        run("new", 7, 400_000.0, needle_changed=True),
        run("second", 8, 800_000.0),
        run("third", 9, 4_000.0, needle_changed=False),
        run("again", 10, 400.0, needle_changed=True),
        run("other", 11, 400.0, machine="M2"),
        run("nameless", 11, 400.0, machine=None, needle_changed=True),
    ]
    store.put(frame(list(reversed(runs))), source="form")
    assert ages(store) == {
        "before": None,
        "new": 0.0,
        "second": 100_000.0,
        "third": 300_000.0,
        "again": 0.0,
        "other": None,
        "nameless": None,
    }
    assert ages(store, refs=["third", "other"]) == {"third": 300_000.0, "other": None}
    assert ages(store, refs=[]) == {}


def test_a_late_a_corrected_and_a_withdrawn_run_change_the_ages_after_it(store: DuckStore) -> None:
    first = [run("new", 7, 400_000.0, needle_changed=True), run("last", 12, 400.0)]
    store.put(frame(first), source="form")
    assert ages(store, refs=["last"]) == {"last": 100_000.0}
    store.put(frame([run("late", 9, 2_000_000.0)]), source="form")
    assert ages(store, refs=["last"]) == {"last": 600_000.0}
    corrected = frame([run("late", 9, 2_000_000.0, needle_changed=True)])
    store.amend("late", corrected, why=None, source="form")
    assert ages(store, refs=["last"]) == {"last": 500_000.0}
    store.withdraw("late", why="twice", source="form")
    assert ages(store, refs=["last"]) == {"last": 100_000.0}


def test_what_is_not_known_of_a_run_is_not_known_of_the_needle_after_it(store: DuckStore) -> None:
    runs = [
        run("new", 7, 400_000.0, needle_changed=True, head_count=None),
        run("unsaid", 8, None),
        run("after", 9, 400.0),
        run("made", 10, None, stitches_per_piece=8_000, needle_changed=True),
        run("end", 11, 400.0),
    ]
    store.put(frame(runs), source="form")
    assert ages(store) == {
        "new": 0.0,
        "unsaid": 100_000.0,
        "after": None,
        "made": 0.0,
        "end": 20_000.0,
    }


def test_runs_are_counted_and_found_by_bands_of_the_age(store: DuckStore) -> None:
    runs = [
        run("new", 7, 9_000_000.0, needle_changed=True, puckering=1),
        run("old", 8, 400.0, puckering=3),
    ]
    store.put(frame(runs), source="form")
    for window in (Window(), Window(since=datetime(2026, 10, 5).date())):
        cells = store.cells(["puckering"], by=("needle_age_band",), window=window)
        assert dict(cells.select("needle_age_band", "count").iter_rows()) == {
            "new": 1,
            "overdue": 3,
        }
    overdue = Window(where={"needle_age_band": "overdue"})
    assert store.runs(overdue)["run_ref"].to_list() == ["old"]
    assert store.totals(window=overdue)["runs"].item() == 1


def test_without_a_change_on_record_there_are_no_ages(store: DuckStore) -> None:
    store.put(frame([run("one", 7, 400.0), run("two", 8, 400.0)]), source="form")
    assert ages(store) == {"one": None, "two": None}
    assert store.cells(["gaps", "puckering"], by=("needle_age_band",))[
        "needle_age_band"
    ].to_list() == [None]
    assert store.runs(Window(where={"needle_age_band": "new"})).is_empty()


def test_sites_do_not_share_machines(store: DuckStore) -> None:
    runs = [
        run("here", 7, 400_000.0, needle_changed=True, site="A"),
        run("there", 8, 400.0, site="B"),
    ]
    store.put(frame(runs), source="form")
    assert ages(store) == {"here": 0.0, "there": None}
