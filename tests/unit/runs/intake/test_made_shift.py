"""Shifts that are made of the finish: in frames as in the database, and never taken as written."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import polars as pl

from logbook.book.export import export_runs
from logbook.book.runs import amend_run, log_run
from logbook.book.sheets import import_sheets
from logbook.runs.intake.made_shift import made_shift, without_made_shift
from logbook.shop import shop_from
from logbook.store import Window, new_book, open_book

SETTINGS = """
[[shift]]
name = "early"
from = "06:00"
to = "14:00"
[[shift]]
name = "night"
from = "22:00"
to = "06:00"
"""
SHIFTS = shop_from(
    {
        "shift": [
            {"name": "early", "from": "06:00", "to": "14:00"},
            {"name": "night", "from": "22:00", "to": "06:00"},
        ]
    }
).shifts


def at(*moments: datetime) -> pl.DataFrame:
    return pl.DataFrame({"finished_at": moments, "shift": [None] * len(moments)})


def test_a_finish_on_the_dot_is_of_the_shift_that_ends_there() -> None:
    day = datetime(2026, 10, 5)
    hours = {
        6: "night",
        7: "early",
        14: "early",
        15: None,
        22: None,
        23: "night",
        0: None,
    }
    frame = at(*(day.replace(hour=hour) for hour in hours))
    assert frame.select(made_shift(SHIFTS).alias("made"))["made"].to_list() == list(hours.values())


def test_the_database_makes_the_same_shifts(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book"), settings=SETTINGS) as store:
        start = datetime(2026, 10, 5, 0, 0, 30)
        moments = [start + timedelta(minutes=29 * step) for step in range(100)]
        sheet = tmp_path / "sheet.csv"
        pl.DataFrame(
            {
                "run_ref": [f"R{each}" for each in range(100)],
                "finished_at": [each.isoformat() for each in moments],
                "pieces_sewn": [9] * 100,
                "gaps": [0] * 100,
            }
        ).write_csv(sheet)
        import_sheets(store, [sheet])
        made = store.made().select("run_ref", "shift")
        frame = store.runs().with_columns(made_shift(SHIFTS).alias("there"))
        both = frame.join(made, on="run_ref", suffix="_made")
        assert both["there"].equals(both["shift_made"])
        assert both["there"].n_unique() == 3
        counted = store.totals(by=("shift",))
        assert dict(counted.select("shift", "runs").iter_rows()) == dict(
            both.group_by("there").len().iter_rows()
        )
        night = store.runs(Window(where={"shift": "night"}))
        assert night.height == (both["there"] == "night").sum()


def test_what_a_run_says_of_its_shift_stands(tmp_path: Path) -> None:
    run = {"finished_at": "2026-10-05T07:00", "pieces_sewn": 9, "gaps": 0}
    with new_book(str(tmp_path / "book"), settings=SETTINGS) as store:
        log_run(store, {"run_ref": "said", "shift": "night", **run}, source="form")
        log_run(store, {"run_ref": "made", **run}, source="form")
        assert dict(store.made().select("run_ref", "shift").iter_rows()) == {
            "said": "night",
            "made": "early",
        }
        assert store.runs(refs=["made"])["shift"].item() is None
        amend_run(store, "made", {"finished_at": "2026-10-05T23:00"}, why="late", source="form")
        assert store.made(refs=["made"])["shift"].item() == "night"


def test_an_export_says_the_shift_and_comes_again_without_change(tmp_path: Path) -> None:
    run = {"finished_at": "2026-10-05T07:00", "pieces_sewn": 9, "gaps": 0, "machine": "M1"}
    run |= {"needle_changed": True, "head_count": 1}
    with new_book(str(tmp_path / "book"), settings=SETTINGS) as store:
        log_run(store, {"run_ref": "R-1", **run}, source="form")
        log_run(store, {"run_ref": "R-2", **run, "shift": "night"}, source="form")
        for ending in (".csv", ".xlsx", ".parquet"):
            export_runs(store, tmp_path / f"out{ending}")
            again = import_sheets(store, [tmp_path / f"out{ending}"])
            assert (again.added, again.skipped, again.rejected) == (0, 2, 0)
            assert again.files[0].notes == ()
        told = pl.read_parquet(tmp_path / "out.parquet")
        assert told["shift"].to_list() == ["early", "night"]
        assert told["needle_age_stitches"].to_list() == [0.0, 0.0]
        repeated = log_run(store, {"run_ref": "R-1", **run, "shift": "early"}, source="form")
        assert not repeated.added
    changed = SETTINGS.replace('"early"', '"first"')
    (tmp_path / "book" / "shop.toml").write_text(changed)
    with open_book(str(tmp_path / "book")) as store:
        assert store.made(refs=["R-1"])["shift"].item() == "first"


def test_only_shifts_that_would_be_made_are_taken_out() -> None:
    runs = at(datetime(2026, 10, 5, 7), datetime(2026, 10, 5, 23))
    assert without_made_shift(runs, SHIFTS) is None
    own = runs.with_columns(shift=pl.Series(["early", "late"]))
    left = without_made_shift(own, SHIFTS)
    assert left is not None
    assert left.to_list() == [None, "late"]
    assert without_made_shift(own, ()) is None
