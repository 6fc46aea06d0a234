"""Cells and totals against a plain recount of the runs themselves, run by run."""

from __future__ import annotations

import math
import tempfile
from collections import defaultdict
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from run_frames import frame

from logbook.cells import MEASURES, pool
from logbook.shop import Shop, shop_from
from logbook.store import Window, new_book
from logbook.store.duckdb_store import DuckStore
from logbook.vocabulary.backings import WEIGHT_BANDS
from logbook.vocabulary.bands import DENSITY_BANDS, SPEED_BANDS, band_of

OWN = '[[defect_kind]]\nname = "loose_ends"\n[[defect_kind]]\nname = "stops"\nmeasure = "events"\n'
SHOP: Shop = shop_from(
    {"defect_kind": [{"name": "loose_ends"}, {"name": "stops", "measure": "events"}]}
)
CHARGED = [kind.name for kind in SHOP.kinds if kind.measure == "pieces" and kind.charged_to_setup]
PIECES = ("gaps", "puckering", "soiling", "loose_ends", "fabric_faults")
EVENTS = ("thread_breaks", "stops")
KINDS = (*PIECES, *EVENTS, "any")
FACTORS = ("day", "week", "month", "site", "backing", "needle_nm", "fabric_sheer", "run_ref")
BANDED = ("weight_band", "density_band", "speed_band")
GROUPED = (*FACTORS, *BANDED)
NEW_YEAR = datetime(2026, 12, 24)


def sometimes(values: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | values


few = sometimes(st.integers(0, 6))
RUN = st.fixed_dictionaries(
    {
        "finished_at": st.integers(0, 20 * 24 * 60).map(lambda m: NEW_YEAR + timedelta(minutes=m)),
        "site": sometimes(st.sampled_from(["Mill Lane", "mill lane", "Quay"])),
        "backing": sometimes(st.sampled_from(["none", "cut_away", "tear_away"])),
        "needle_nm": sometimes(st.sampled_from([75, 80])),
        "fabric_sheer": sometimes(st.booleans()),
        "backing_gsm": sometimes(st.sampled_from([10.0, 46.9, 47.0, 66.0, 82.99, 83.0, 93.0])),
        "density": sometimes(st.sampled_from([0.5, 1.9, 3.0, 3.1, 4.7, 6.2, 50.0])),
        "speed_spm": sometimes(st.sampled_from([50.0, 599.9, 600.0, 750.0, 850.0, 2000.0])),
        "stitches_per_piece": sometimes(st.integers(1, 9000)),
        "stitches_sewn": sometimes(st.floats(1.0, 1e9)),
        "pieces_sewn": few,
        "pieces_inspected": few,
        "pieces_spoiled": few,
        "pieces_reworked": few,
        "pieces_defective": few,
        "rework_minutes": sometimes(st.floats(0.0, 500.0)),
        "needle_parts_found": sometimes(st.booleans()),
        **dict.fromkeys((*PIECES, *EVENTS), few),
    }
)
RUNS = st.lists(RUN, max_size=25).map(
    lambda runs: frame([{**run, "run_ref": f"R-{n}"} for n, run in enumerate(runs)], SHOP.own)
)
GROUPING = st.lists(st.sampled_from(GROUPED), max_size=3, unique=True)


DAYS = sometimes(st.integers(-1, 21).map(lambda day: (NEW_YEAR + timedelta(days=day)).date()))
WINDOW = st.builds(
    Window,
    since=DAYS,
    until=DAYS,
    site=sometimes(st.sampled_from(["Mill Lane", "QUAY", "elsewhere"])),
    where=st.just({}) | st.sampled_from([{"backing": "none"}, {"needle_nm": 75}]),
)
BOOKS = settings(max_examples=12, deadline=None)


@contextmanager
def book_of(runs: pl.DataFrame) -> Iterator[DuckStore]:
    with (
        tempfile.TemporaryDirectory() as folder,
        new_book(str(Path(folder) / "book"), settings=OWN) as store,
    ):
        assert store.put(runs, source="test").added == runs.height
        yield store


def factor(run: dict[str, Any], name: str) -> Any:
    moment: datetime = run["finished_at"]
    if name == "week":
        year, week, _ = moment.isocalendar()
        return f"{year}-W{week:02d}"
    periods = {"day": "%Y-%m-%d", "month": "%Y-%m"}
    if name in periods:
        return moment.strftime(periods[name])
    bands = {
        "weight_band": ("backing_gsm", WEIGHT_BANDS),
        "density_band": ("density", DENSITY_BANDS),
        "speed_band": ("speed_spm", SPEED_BANDS),
    }
    if name not in bands:
        return run[name]
    value, steps = run[bands[name][0]], bands[name][1]
    band = None if value is None else band_of(value, steps)
    return band and band.name


def in_window(run: dict[str, Any], window: Window) -> bool:
    day: date = run["finished_at"].date()
    return (
        (window.since is None or window.since <= day)
        and (window.until is None or day <= window.until)
        and (window.site is None or (run["site"] or "").lower() == window.site.lower())
        and all(factor(run, name) == value for name, value in window.where.items())
    )


def stitches(run: dict[str, Any]) -> float | None:
    if run["stitches_sewn"] is not None:
        return run["stitches_sewn"]
    if run["stitches_per_piece"] is None or run["pieces_sewn"] is None:
        return None
    return float(run["stitches_per_piece"] * run["pieces_sewn"])


def first(*values: Any) -> Any:
    return next((value for value in values if value is not None), None)


def any_count(run: dict[str, Any]) -> int | None:
    recorded = [run[name] for name in CHARGED if run[name] is not None]
    return first(run["pieces_defective"], max(recorded, default=None))


def plus(total: float | None, value: float | None) -> float | None:
    return total if value is None else (total or 0) + value


def recounted_cells(
    runs: Sequence[dict[str, Any]], kind: str, by: Sequence[str]
) -> dict[tuple[Any, ...], list[Any]]:
    cells: dict[tuple[Any, ...], list[Any]] = {}
    for run in runs:
        count = any_count(run) if kind == "any" else run[kind]
        pieces = first(run["pieces_inspected"], run["pieces_sewn"])
        exposure = stitches(run) if kind in EVENTS else pieces
        if count is None or exposure is None or exposure <= 0:
            continue
        whole = sum(run[name] or 0 for name in CHARGED)
        part: float | None = 0.0
        if kind == "any":
            part = 1.0
        elif kind in CHARGED:
            part = count / whole if count else None
        losses = [run["pieces_spoiled"], None, run["rework_minutes"]]
        if run["rework_minutes"] is None:
            losses[1] = run["pieces_reworked"]
        parts = [None if loss is None or part is None else loss * part for loss in losses]
        cell = cells.setdefault(
            tuple(factor(run, name) for name in by), [0, 0.0, 0, None, None, None]
        )
        cell[0] += 1
        cell[1] += exposure
        cell[2] += count
        cell[3:] = [plus(total, each) for total, each in zip(cell[3:], parts, strict=True)]
    return cells


def recounted_totals(
    runs: Sequence[dict[str, Any]], by: Sequence[str]
) -> dict[tuple[Any, ...], list[Any]]:
    groups: dict[tuple[Any, ...], list[dict[str, Any]]] = defaultdict(list)
    for run in runs:
        groups[tuple(factor(run, name) for name in by)].append(run)
    if not by and not groups:
        groups[()] = []
    summed = {}
    for key, members in groups.items():
        sums: list[Any] = [len(members)]
        for value in (
            lambda run: first(run["pieces_inspected"], run["pieces_sewn"]),
            lambda run: first(run["pieces_sewn"], run["pieces_inspected"]),
            stitches,
            lambda run: run["pieces_spoiled"],
            lambda run: run["pieces_reworked"],
            lambda run: run["rework_minutes"],
            lambda run: run["run_minutes"],
        ):
            total = None
            for run in members:
                total = plus(total, value(run))
            sums.append(total)
        sums += [
            sum(r["pieces_inspected"] is None and r["pieces_sewn"] is not None for r in members),
            sum(r["pieces_defective"] is None and any_count(r) is not None for r in members),
            sum(r["needle_parts_found"] is False for r in members),
        ]
        summed[key] = sums
    return summed


def as_groups(rows: pl.DataFrame, by: Sequence[str]) -> dict[tuple[Any, ...], list[Any]]:
    width = len(by)
    groups = {row[:width]: list(row[width:]) for row in rows.rows()}
    assert len(groups) == rows.height
    return groups


def assert_same(
    got: dict[tuple[Any, ...], list[Any]], expected: dict[tuple[Any, ...], list[Any]]
) -> None:
    assert set(got) == set(expected)
    for key, values in expected.items():
        for value, other in zip(got[key], values, strict=True):
            assert (value is None) == (other is None), (key, got[key], values)
            if other is not None:
                assert math.isclose(value, other, rel_tol=1e-9, abs_tol=1e-9), (key, value, other)


@BOOKS
@given(RUNS, GROUPING, WINDOW)
def test_cells_and_totals_are_what_a_recount_of_the_runs_gives(
    runs: pl.DataFrame, by: list[str], window: Window
) -> None:
    with book_of(runs) as store:
        stored = store.runs().rows(named=True)
        chosen = [run for run in stored if in_window(run, window)]
        assert store.runs(window)["run_ref"].to_list() == [run["run_ref"] for run in chosen]
        cells = store.cells(KINDS, by=by, window=window)
        for kind in KINDS:
            of_one = cells.filter(pl.col("kind") == kind).drop("kind")
            assert_same(as_groups(of_one, by), recounted_cells(chosen, kind, by))
            alone = store.cells([kind], by=by, window=window)
            assert alone.drop("kind").equals(of_one)
        assert_same(as_groups(store.totals(by=by, window=window), by), recounted_totals(chosen, by))


@BOOKS
@given(RUNS, GROUPING, st.data())
def test_pooling_loses_nothing_and_losses_add_up_to_the_whole(
    runs: pl.DataFrame, by: list[str], data: st.DataObject
) -> None:
    with book_of(runs) as store:
        fine = store.cells(KINDS, by=by)
        kept = data.draw(st.lists(st.sampled_from(by), unique=True) if by else st.just([]))
        keys = ["kind", *kept]
        pooled = pool(fine, by=keys)
        assert_same(as_groups(pooled, keys), as_groups(store.cells(KINDS, by=kept), keys))
        assert_same(
            as_groups(pool(pooled, by=["kind"]), ["kind"]),
            as_groups(pool(fine, by=["kind"]), ["kind"]),
        )
        again = pool(fine.sample(fraction=1.0, shuffle=True, seed=7), by=keys)
        assert_same(as_groups(again, keys), as_groups(pooled, keys))

        each = store.cells(CHARGED, by=["run_ref"])
        spoiled = dict(pool(each, by=["run_ref"]).select("run_ref", "spoiled").rows())
        for run in store.runs().rows(named=True):
            pieces = first(run["pieces_inspected"], run["pieces_sewn"]) or 0
            if pieces > 0 and sum(run[name] or 0 for name in CHARGED) > 0:
                got, whole = spoiled[run["run_ref"]], run["pieces_spoiled"]
                assert got == pytest.approx(whole) if whole is not None else got is None


@BOOKS
@given(RUNS)
def test_any_lies_between_the_largest_kind_and_all_of_them(runs: pl.DataFrame) -> None:
    unrecorded = runs.with_columns(pieces_defective=pl.lit(None, pl.Int64))
    with book_of(unrecorded) as store:
        cells = store.cells([*CHARGED, "any"], by=["run_ref"])
        largest = cells.filter(pl.col("kind") != "any").group_by("run_ref")
        bounds = largest.agg(
            pl.col("count").max().alias("most"), pl.col("count").sum().alias("all")
        )
        both = cells.filter(pl.col("kind") == "any").join(bounds, on="run_ref", how="full")
        assert both.null_count().select("count", "most").row(0) == (0, 0)
        assert (both["count"] == both["most"]).all()
        assert (both["count"] <= both["all"]).all()
        assert set(cells.columns) >= set(MEASURES)
