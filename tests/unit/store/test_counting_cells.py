"""Cells and totals, each rule by an example counted by hand."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import polars as pl
import pytest
from polars.testing import assert_frame_equal
from run_frames import frame, run

from logbook.cells import GROUPINGS, MEASURES, of_kind, pool
from logbook.errors import StoreError
from logbook.shop import Shop, shop_from
from logbook.store import Window, new_book
from logbook.store.counting import piece_names
from logbook.vocabulary.backings import WEIGHT_BANDS
from logbook.vocabulary.bands import DENSITY_BANDS, SPEED_BANDS


def one(cells: pl.DataFrame) -> dict[str, Any]:
    assert cells.height == 1
    return cells.row(0, named=True)


def test_a_run_that_did_not_record_a_kind_is_in_no_cell_of_it(book) -> None:
    book.put(frame([run("R-1", gaps=2), run("R-2", gaps=None), run("R-3", gaps=0)]), source="a.csv")
    cell = one(book.cells(["gaps"]))
    assert (cell["runs"], cell["exposure"], cell["count"]) == (2, 20.0, 2)
    assert book.cells(["puckering"]).is_empty()
    assert one(book.totals())["runs"] == 3


def test_pieces_inspected_are_at_risk_else_those_sewn(book) -> None:
    rows = [
        run("R-1", pieces_inspected=10, pieces_sewn=50),
        run("R-2", pieces_inspected=None, pieces_sewn=30),
        run("R-3", pieces_inspected=None, stitches_sewn=9000.0),
    ]
    book.put(frame(rows), source="a.csv")
    cell = one(book.cells(["gaps"]))
    assert (cell["runs"], cell["exposure"], cell["count"]) == (2, 40.0, 2)
    totals = one(book.totals())
    assert totals["pieces_inspected"] == 40
    assert totals["pieces_sewn"] == 80
    assert totals["runs_inspected_assumed"] == 1


def test_a_run_without_a_piece_inspected_leaves(book) -> None:
    rows = [run("R-1"), run("R-2", pieces_inspected=0, gaps=0, pieces_sewn=40)]
    book.put(frame(rows), source="a.csv")
    for kind in ("gaps", "any"):
        cell = one(book.cells([kind]))
        assert (cell["runs"], cell["exposure"]) == (1, 10.0)
    assert book.cells(["gaps"], by=["run_ref"])["run_ref"].to_list() == ["R-1"]


def test_events_are_counted_against_stitches(book) -> None:
    rows = [
        run("R-1", thread_breaks=3, stitches_sewn=1e6),
        run("R-2", thread_breaks=1, stitches_per_piece=5000, pieces_sewn=20),
        run("R-3", thread_breaks=7, stitches_per_piece=5000),
        run("R-4", thread_breaks=2, stitches_sewn=2e6, stitches_per_piece=1, pieces_sewn=1),
        run("R-5", thread_breaks=0, stitches_per_piece=5000, pieces_sewn=0),
        run("R-6", stitches_sewn=1e6),
    ]
    book.put(frame(rows), source="a.csv")
    cell = one(book.cells(["thread_breaks"]))
    assert (cell["runs"], cell["exposure"], cell["count"]) == (3, 3.1e6, 6)
    assert (cell["spoiled"], cell["reworked"], cell["rework_minutes"]) == (None, None, None)


def test_stitches_of_a_large_run_do_not_overflow(book) -> None:
    most = 1_000_000_000
    row = run("R-1", thread_breaks=1, stitches_per_piece=most, pieces_sewn=most)
    book.put(frame([row, {**row, "run_ref": "R-2"}]), source="a.csv")
    assert one(book.cells(["thread_breaks"]))["exposure"] == 2e18
    assert one(book.totals())["stitches_sewn"] == 2e18


def test_any_is_what_was_recorded_else_the_largest_kind(book) -> None:
    rows = [
        run("R-1", pieces_defective=5, gaps=3, puckering=2),
        run("R-2", gaps=3, puckering=4),
        run("R-3", gaps=None, puckering=1),
        run("R-4", gaps=None, fabric_faults=6),
        run("R-5", gaps=None, thread_breaks=2, stitches_sewn=100.0),
        run("R-6", gaps=None, pieces_defective=0),
    ]
    book.put(frame(rows), source="a.csv")
    cell = one(book.cells(["any"]))
    assert (cell["runs"], cell["exposure"], cell["count"]) == (4, 40.0, 5 + 4 + 1)
    assert one(book.totals())["runs_any_assumed"] == 2


def test_faults_of_the_cloth_are_counted_but_charged_to_nothing(book) -> None:
    rows = [run("R-1", gaps=2, fabric_faults=6, pieces_spoiled=4)]
    book.put(frame(rows), source="a.csv")
    cells = book.cells(["gaps", "fabric_faults"]).rows_by_key("kind", named=True, unique=True)
    assert cells["fabric_faults"]["count"] == 6
    assert cells["fabric_faults"]["spoiled"] == 0
    assert cells["gaps"]["spoiled"] == 4
    assert "fabric_faults" not in piece_names(Shop().kinds)


def test_losses_are_allotted_by_the_counts(book) -> None:
    rows = [
        run("R-1", gaps=3, puckering=1, pieces_spoiled=2, pieces_reworked=4, rework_minutes=30.0),
        run("R-2", gaps=1, puckering=None, pieces_reworked=3),
        run("R-3", gaps=0, puckering=0, pieces_spoiled=5),
    ]
    book.put(frame(rows), source="a.csv")
    cells = book.cells(["gaps", "puckering", "any"]).rows_by_key("kind", named=True, unique=True)
    losses = ("spoiled", "reworked", "rework_minutes")
    assert [cells["gaps"][name] for name in losses] == [1.5, 3.0, 22.5]
    assert [cells["puckering"][name] for name in losses] == [0.5, None, 7.5]
    assert [cells["any"][name] for name in losses] == [7.0, 3.0, 30.0]


def test_losses_that_nobody_recorded_are_not_zero(book) -> None:
    book.put(frame([run("R-1"), run("R-2", site="B", pieces_spoiled=0)]), source="a.csv")
    assert book.cells(["gaps"], by=["site"])["spoiled"].to_list() == [0.0, None]


def test_a_run_that_did_not_show_a_kind_says_nothing_of_its_losses(book) -> None:
    spoiled = run("R-1", gaps=0, puckering=2, pieces_spoiled=1)
    book.put(frame([spoiled, run("R-2", gaps=3, puckering=0)]), source="a.csv")
    cells = book.cells(["gaps", "puckering", "any"]).rows_by_key("kind", named=True, unique=True)
    assert (cells["gaps"]["count"], cells["gaps"]["spoiled"]) == (3, None)
    assert (cells["puckering"]["spoiled"], cells["any"]["spoiled"]) == (1.0, 1.0)


YEAR_ENDS = [
    (datetime(2026, 12, 31, 23, 59), "2026-12-31", "2026-W53", "2026-12"),
    (datetime(2027, 1, 3, 12), "2027-01-03", "2026-W53", "2027-01"),
    (datetime(2027, 1, 4), "2027-01-04", "2027-W01", "2027-01"),
    (datetime(2024, 12, 30), "2024-12-30", "2025-W01", "2024-12"),
    (datetime(2026, 10, 5), "2026-10-05", "2026-W41", "2026-10"),
    (datetime(1999, 1, 1), "1999-01-01", "1998-W53", "1999-01"),
]


@pytest.mark.parametrize(("moment", "day", "week", "month"), YEAR_ENDS)
def test_periods_are_days_iso_weeks_and_months(
    book, moment: datetime, day: str, week: str, month: str
) -> None:
    book.put(frame([run("R-1", finished_at=moment)]), source="a.csv")
    cell = one(book.cells(["gaps"], by=["day", "week", "month"]))
    assert (cell["day"], cell["week"], cell["month"]) == (day, week, month)
    assert one(book.cells(["gaps"], window=Window(where={"week": week})))["runs"] == 1


def test_a_week_over_new_year_is_one_cell(book) -> None:
    rows = [run(f"R-{n}", finished_at=row[0]) for n, row in enumerate(YEAR_ENDS[:3])]
    book.put(frame(rows), source="a.csv")
    cells = book.cells(["gaps"], by=["week"])
    assert dict(zip(cells["week"], cells["runs"], strict=True)) == {"2026-W53": 2, "2027-W01": 1}


@pytest.mark.parametrize(
    ("column", "band", "bands"),
    [
        ("backing_gsm", "weight_band", WEIGHT_BANDS),
        ("density", "density_band", DENSITY_BANDS),
        ("speed_spm", "speed_band", SPEED_BANDS),
    ],
)
def test_an_edge_belongs_to_the_band_above_it(book, column: str, band: str, bands) -> None:
    edges = [each.lowest for each in bands[1:]]
    expected = {"none": None}
    rows = [run("none")]
    for number, edge in enumerate(edges):
        below, at = f"{number}-below", f"{number}-at"
        rows += [run(below, **{column: edge - 1e-9}), run(at, **{column: edge})]
        expected |= {below: bands[number].name, at: bands[number + 1].name}
    book.put(frame(rows), source="a.csv")
    cells = book.cells(["gaps"], by=["run_ref", band])
    assert dict(zip(cells["run_ref"], cells[band], strict=True)) == expected


def test_unrecorded_factors_are_a_group_of_their_own_at_the_end(book) -> None:
    rows = [run("R-1", backing="none"), run("R-2"), run("R-3", backing="cut_away"), run("R-4")]
    book.put(frame(rows), source="a.csv")
    cells = book.cells(["gaps"], by=["backing"])
    assert cells["backing"].to_list() == ["cut_away", "none", None]
    assert cells["runs"].to_list() == [1, 1, 2]


@pytest.mark.parametrize("name", GROUPINGS)
def test_every_grouping_can_be_counted_by(book, name: str) -> None:
    book.put(frame([run("R-1"), run("R-2", site="A")]), source="a.csv")
    for counted in (book.cells(["gaps"], by=[name]), book.totals(by=[name])):
        assert counted.columns[: counted.columns.index("runs")][-1] == name
        assert counted["runs"].sum() == 2


def test_columns_and_types_of_cells_and_totals(book) -> None:
    rows = [run("R-1", thread_breaks=1, stitches_sewn=10.0, pieces_spoiled=1, rework_minutes=2.0)]
    expected = {"kind": pl.String(), "week": pl.String(), "runs": pl.Int64()}
    expected |= dict.fromkeys(MEASURES[1:], pl.Float64()) | {"count": pl.Int64()}
    for stored in ([], rows):
        book.put(frame(stored), source="a.csv")
        cells = book.cells(["gaps", "thread_breaks", "any"], by=["week"])
        assert dict(cells.schema) == expected
        assert cells.columns == ["kind", "week", *MEASURES]
        totals = dict(book.totals(by=["week"]).schema)
        assert {name for name, kept in totals.items() if kept == pl.Float64()} == {
            "stitches_sewn",
            "rework_minutes",
            "run_minutes",
        }
        assert {kept for name, kept in totals.items() if name.startswith("runs")} == {pl.Int64()}


def test_an_empty_book_has_no_cells_and_totals_of_no_runs(book) -> None:
    assert book.cells(["gaps", "any"]).is_empty()
    assert book.cells(["gaps"], by=["week", "fabric"]).is_empty()
    assert book.totals(by=["week"]).is_empty()
    totals = one(book.totals())
    counted = {name: value for name, value in totals.items() if name.startswith("runs")}
    assert set(counted.values()) == {0}
    assert {value for name, value in totals.items() if name not in counted} == {None}


def test_runs_held_until_the_needle_parts_are_found(book) -> None:
    rows = [
        run("R-1", needle_breaks=1, needle_parts_found=False),
        run("R-2", needle_breaks=1, needle_parts_found=True),
        run("R-3"),
    ]
    book.put(frame(rows), source="a.csv")
    assert one(book.totals())["runs_held"] == 1
    assert one(book.totals(window=Window(until=date(2020, 1, 1))))["runs_held"] == 0


def test_kinds_and_groupings_asked_twice_count_once(book) -> None:
    book.put(frame([run("R-1", puckering=2)]), source="a.csv")
    twice = book.cells(["gaps", "puckering", "gaps"], by=["week", "week"])
    assert twice.equals(book.cells(["gaps", "puckering"], by=["week"]))


@pytest.mark.parametrize("kind", ["tea_stains", "pieces_spoiled", 'gaps") FROM runs; --', ""])
def test_unknown_kinds_are_refused(book, kind: str) -> None:
    with pytest.raises(StoreError, match="no defect kind"):
        book.cells(["gaps", kind])


def test_no_kind_at_all_is_refused(book) -> None:
    with pytest.raises(StoreError, match="at least one"):
        book.cells([])


@pytest.mark.parametrize("name", ["notes", "gaps", "1; DROP TABLE runs", "year"])
def test_unknown_groupings_are_refused(book, name: str) -> None:
    for count in (lambda: book.cells(["gaps"], by=[name]), lambda: book.totals(by=[name])):
        with pytest.raises(StoreError, match="cannot be grouped"):
            count()


def test_a_piece_kind_of_the_shop_takes_its_part_of_the_losses(place: str) -> None:
    settings = '[[defect_kind]]\nname = "select"\n'
    own = shop_from({"defect_kind": [{"name": "select"}]}).own_kinds
    with new_book(place, settings=settings) as store:
        store.put(frame([run("R-1", gaps=1, select=3, pieces_spoiled=4)], own), source="form")
        cells = store.cells(["gaps", "select"]).rows_by_key("kind", named=True, unique=True)
        assert cells["select"]["spoiled"] == 3
        assert cells["gaps"]["spoiled"] == 1
        assert one(store.cells(["any"]))["count"] == 3


def test_runs_by_themselves_add_up_to_the_groups_they_are_in(book) -> None:
    rows = [
        run("R-3", gaps=2, fabric="felt", pieces_spoiled=2, puckering=None),
        run("R-1", gaps=None, fabric="felt", rework_minutes=5.0, puckering=1),
        run("R-2", gaps=1, fabric=None, pieces_reworked=1, puckering=2),
        run("R-4", gaps=0, fabric="felt", pieces_inspected=0, pieces_sewn=5, puckering=0),
    ]
    book.put(frame(rows), source="a.csv")
    kinds = ["gaps", "puckering", "any"]
    single = book.cells(kinds, by=["run_ref", "fabric"])
    for kind in kinds:
        own = of_kind(single, kind)
        assert own["run_ref"].to_list() == sorted(own["run_ref"])
        assert_frame_equal(
            pool(own, by=["fabric"]), of_kind(book.cells(kinds, by=["fabric"]), kind)
        )
