"""Headings: what is understood, what is told, what is refused."""

from __future__ import annotations

import pytest

from logbook.errors import NotARunSheet
from logbook.runs.intake.headings import (
    OFTEN_WRITTEN,
    heading_name,
    known_names,
    near_miss,
    understand,
    without_added,
)
from logbook.vocabulary.defects import DefectKind

OWN = DefectKind("loose_ends", "Loose ends", "", (), (), "", measure="events", own=True)


@pytest.mark.parametrize(
    ("heading", "name"),
    [
        ("finished_at", "finished_at"),
        ("  Finished At ", "finished_at"),
        ("FINISHED-AT", "finished_at"),
        ("Backing GSM (g/m²)", "backing_gsm"),
        ("Speed spm [stitches/min]", "speed_spm"),
        ("\ufeffrun ref", "run_ref"),
        ("row\u00a0spacing\u2011mm", "row_spacing_mm"),
        ("thread  breaks", "thread_breaks"),
        ("(only a unit)", ""),
    ],
)
def test_a_heading_is_read_whatever_its_dress(heading: str, name: str) -> None:
    assert heading_name(heading) == name


def test_columns_in_any_order_and_strange_ones_ignored() -> None:
    found = understand(
        ["Puckering", "weather", "Pieces sewn", "finished at", "", "operater"], file="a.csv"
    )
    assert found.names == ("puckering", None, "pieces_sewn", "finished_at", None, None)
    assert found.notes == (
        "the column 'weather' is not part of a run sheet and was ignored",
        "the column 'operater' is not part of a run sheet and was ignored; if it is operator, "
        "rename it and import again "
        "(rows without run_ref then enter once more: withdraw those of this import first)",
    )


@pytest.mark.parametrize(
    ("behind", "left"),
    [
        (["row", "column", "reason"], []),
        (["row", "column", "reason", "", " "], []),
        (["Row", "column", "reason"], ["Row", "column", "reason"]),
        (["column", "row", "reason"], ["column", "row", "reason"]),
        (["row", "column", "reason", "x"], ["row", "column", "reason", "x"]),
        (["Reason", "row", "column", "reason"], ["Reason"]),
        (["reason"], ["reason"]),
    ],
)
def test_only_what_a_rejects_file_added_is_taken_off(behind: list[str], left: list[str]) -> None:
    own = ["finished_at", "pieces_sewn", "gaps"]
    assert without_added([*own, *behind]) == (*own, *left)


def refusal(*headings: str) -> NotARunSheet:
    with pytest.raises(NotARunSheet) as caught:
        understand(headings, file="october.csv")
    return caught.value


def test_a_table_of_something_else_is_refused() -> None:
    error = refusal("invoice", "amount", "paid")
    assert "names no column" in error.message
    assert "'invoice', 'amount', 'paid'" in error.message


def test_rows_without_a_header_are_refused() -> None:
    assert "names no column" in refusal("2026-10-05", "M1", "24", "3").message


@pytest.mark.parametrize(
    ("headings", "missing"),
    [
        (("pieces_sewn", "gaps"), "finished_at"),
        (("finished_at", "gaps"), "an exposure"),
        (("finished_at", "pieces_sewn"), "any outcome"),
        (("finished_at", "stitches_sewn", "gaps"), "pieces_inspected or pieces_sewn"),
    ],
)
def test_a_missing_column_is_named(headings: tuple[str, ...], missing: str) -> None:
    error = refusal(*headings)
    assert error.message.startswith("october.csv is not a run sheet: it has no column")
    assert missing in error.message


def test_a_near_miss_of_a_missing_column_is_the_hint() -> None:
    error = refusal("finished_at", "pieces_sewn", "pukering")
    assert error.hint is not None
    assert error.hint.startswith("'pukering' looks like puckering: rename it; ")
    assert "logbook match FILE" in error.hint


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        ("Garment", "fabric"),
        ("Stabilizer", "backing"),
        ("Supplier", "backing_supplier"),
        ("Rejects", "pieces_defective"),
        ("sinking_stitches", "sinking"),
        ("Lieferant", "backing_supplier"),
    ],
)
def test_headings_of_the_trade_get_a_hint(heading: str, column: str) -> None:
    assert near_miss(heading) == column


@pytest.mark.parametrize(
    "headings",
    [
        ("finished_at", "stitches_sewn", "thread_breaks"),
        ("finished_at", "stitches_sewn", "thread_breaks", "gaps"),
        ("finished_at", "pieces_inspected", "pucker_grade"),
        ("finished_at", "pieces_sewn", "pieces_spoiled"),
    ],
)
def test_the_least_that_a_run_sheet_needs(headings: tuple[str, ...]) -> None:
    assert understand(headings, file="a.csv").names == headings


def test_two_columns_of_one_meaning_are_refused() -> None:
    error = refusal("finished_at", "Finished At", "pieces_sewn", "gaps")
    assert "two columns for finished_at: 'finished_at' and 'Finished At'" in error.message


def test_two_strange_columns_of_one_name_are_not_in_the_way() -> None:
    found = understand(["finished_at", "pieces_sewn", "gaps", "x", "x"], file="a.csv")
    assert found.names[3:] == (None, None)


def test_a_kind_of_the_shops_own_is_an_outcome() -> None:
    headings = ["finished_at", "stitches_sewn", "Loose ends"]
    assert understand(headings, file="a.csv", own=[OWN]).names[2] == "loose_ends"
    with pytest.raises(NotARunSheet):
        understand(headings, file="a.csv")


@pytest.mark.parametrize(
    ("name", "meant"), [("machin", "machine"), ("Pukering", "puckering"), ("invoice", None)]
)
def test_what_a_name_was_meant_to_be(name: str, meant: str | None) -> None:
    assert near_miss(name) == meant


@pytest.mark.parametrize(
    ("heading", "meant"),
    [("Supplier", "backing_supplier"), ("Date", "finished_at"), ("Needle (Nm)", "needle_nm")],
)
def test_short_headings_get_a_guess(heading: str, meant: str) -> None:
    assert near_miss(heading) == meant


def test_every_guess_is_a_column_and_no_column_itself() -> None:
    assert set(OFTEN_WRITTEN.values()) <= known_names()
    assert not OFTEN_WRITTEN.keys() & known_names()
