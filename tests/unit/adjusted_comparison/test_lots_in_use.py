"""Lots left blank or miswritten are taken to be the lot in use at the time."""

import polars as pl
import pytest

from logbook.adjusted_comparison.lots import lots_in_use

SCHEMA = {"backing_supplier": pl.String, "backing": pl.String, "backing_lot": pl.String}


def runs(*rows):
    """Rows of supplier, lot and day of October; one backing."""
    return pl.DataFrame(
        [
            {
                "backing_supplier": supplier,
                "backing": "cut_away",
                "backing_lot": lot,
                "day": None if day is None else f"2026-10-{day:02d}",
                "runs": 1,
            }
            for supplier, lot, day in rows
        ],
        schema_overrides=SCHEMA | {"day": pl.String},
    )


FIRST = [("Alder", "A1", day) for day in range(1, 11)]
SECOND = [("Alder", "A2", day) for day in range(11, 21)]


def lots_of(*rows):
    return lots_in_use(runs(*rows))["backing_lot"].to_list()


def test_what_is_written_down_well_stays():
    found = lots_in_use(runs(*FIRST, *SECOND))
    assert found["backing_lot"].to_list() == ["A1"] * 10 + ["A2"] * 10
    assert not found["lot_unsure"].any()


@pytest.mark.parametrize("written", [None, "1A", "A2"])
def test_a_blank_a_slip_and_a_lot_out_of_turn_are_the_lot_in_use(written):
    rows = [*FIRST, ("Alder", written, 4), *SECOND]
    assert lots_of(*rows)[10] == "A1"
    assert lots_in_use(runs(*rows))["lot_unsure"].to_list()[10]


def test_a_number_that_belongs_to_another_supplier_is_not_a_lot_of_this_one():
    others = [("Birch", "B7", day) for day in range(1, 31)]
    strays = [("Alder", "B7", day) for day in (5, 6, 7, 8)]
    found = lots_of(*others, *FIRST, *strays)
    assert found[-4:] == ["A1"] * 4
    assert found[:30] == ["B7"] * 30


def test_a_lot_names_the_supplier_who_was_not_written_down():
    found = lots_in_use(runs(*FIRST, (None, "A1", 3)))
    assert found["backing_supplier"].to_list()[-1] == "Alder"


def test_one_number_of_two_suppliers_names_neither():
    birch = [("Birch", "A1", day) for day in range(1, 11)]
    found = lots_in_use(runs(*FIRST, *birch, (None, "A1", 3)))
    assert found["backing_supplier"].to_list()[-1] is None
    assert found["lot_unsure"].sum() == 1


def test_lots_used_by_turns_or_once_each_are_believed():
    by_turns = [("Alder", f"A{day % 8}", day) for day in range(1, 29)]
    assert lots_of(*by_turns) == [lot for _, lot, _ in by_turns]
    once = [("Alder", f"A{day}", day) for day in range(1, 29)]
    assert lots_of(*once) == [lot for _, lot, _ in once]


def test_without_days_nothing_is_put_right():
    rows = [(supplier, lot, None) for supplier, lot, _ in FIRST] + [("Alder", None, None)]
    found = lots_in_use(runs(*rows))
    assert found["backing_lot"].to_list() == ["A1"] * 10 + [None]
    assert found["lot_unsure"].to_list() == [False] * 10 + [True]


def test_the_order_of_rows_is_kept():
    shuffled = runs(*FIRST, ("Alder", None, 4), *SECOND).sample(fraction=1, shuffle=True, seed=3)
    assert lots_in_use(shuffled)["day"].to_list() == shuffled["day"].to_list()
