"""Open lists: one name, one spelling; close names are told and kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import polars as pl
import pytest

from logbook.runs.columns import run_schema
from logbook.runs.intake.spelling import MOST_NOTES, match_spellings


def suppliers(
    *names: str | None, known: Sequence[str] = ()
) -> tuple[list[str | None], tuple[str, ...]]:
    return spelled({"backing_supplier": names}, {"backing_supplier": known})


def spelled(
    columns: Mapping[str, Sequence[str | None]], known: Mapping[str, Sequence[str]]
) -> tuple[list[str | None], tuple[str, ...]]:
    (name,) = columns
    rows = [dict.fromkeys(run_schema()) | {name: value} for value in columns[name]]
    found = match_spellings(pl.DataFrame(rows, schema=run_schema()), known)
    return found.runs[name].to_list(), found.notes


@pytest.mark.parametrize("written", ["alder", "ALDER", "Alder", "\uff21lder"])
def test_the_spelling_in_use_wins(written: str) -> None:
    names, notes = suppliers(written, written, None, known=["Alder"])
    assert names == ["Alder", "Alder", None]
    expected = f"backing_supplier: '{written}' (2 runs) was read as 'Alder'"
    assert notes == (() if written == "Alder" else (expected,))


def test_the_first_spelling_of_the_sheet_wins_where_none_is_known() -> None:
    names, notes = suppliers("alder", "Alder", "ALDER", "Birch")
    assert names == ["alder", "alder", "alder", "Birch"]
    assert notes == (
        "backing_supplier: 'Alder' (1 run) was read as 'alder'",
        "backing_supplier: 'ALDER' (1 run) was read as 'alder'",
    )


def test_spaces_within_a_name_do_not_make_another() -> None:
    assert suppliers("Alder  Mills", known=["Alder Mills"])[0] == ["Alder Mills"]


def test_two_spellings_that_are_both_in_use_stay() -> None:
    names, notes = suppliers("Alder", "alder", "ALDER", known=["alder", "Alder"])
    assert names == ["Alder", "alder", "alder"]
    assert len(notes) == 1


@pytest.mark.parametrize("new", ["Aldr", "Aldder", "Aldor", "Adler", "Al-der", "Äldér"])
def test_a_close_new_name_is_kept_and_told(new: str) -> None:
    names, notes = suppliers(new, known=["Alder"])
    assert names == [new]
    assert notes == (
        f"backing_supplier: '{new}' is new and close to 'Alder'; if it is the same, mend it",
    )


@pytest.mark.parametrize(
    ("new", "known"),
    [
        ("Birch", "Alder"),
        ("M2 eight-head", "M1 eight-head"),
        ("J1042 Saltmarsh", "J1043 Saltmarsh"),
        ("Line B", "Line A"),
        ("A2277", "A2278"),
        ("A22x7", "A22y7"),
    ],
)
def test_names_that_differ_for_a_reason_are_not_told(new: str, known: str) -> None:
    assert suppliers(new, known=[known]) == ([new], ())


def test_two_close_new_names_of_one_sheet_are_told() -> None:
    assert suppliers("Alder", "Aldr")[1] == (
        "backing_supplier: 'Aldr' is new and close to 'Alder'; if it is the same, mend it",
    )


def test_a_flood_of_notes_is_cut_off() -> None:
    names = [f"Supplier{chr(97 + number)}" for number in range(20)]
    notes = suppliers(*names)[1]
    assert len(notes) == MOST_NOTES + 1
    assert notes[-1] == "backing_supplier: and 7 more like these"


def test_every_open_list_and_no_other_text() -> None:
    assert spelled({"operator": ["bea l."]}, {"operator": ["Bea L."]})[0] == ["Bea L."]
    assert spelled({"notes": ["FINE"]}, {"notes": ["fine"]})[0] == ["FINE"]


def test_a_new_machine_is_named_beside_those_in_use() -> None:
    names, notes = spelled({"machine": ["M1", "M1", "M2"]}, {"machine": ["M2"]})
    assert names == ["M1", "M1", "M2"]
    assert notes == ("machine: 'M1' is new to this book; known: 'M2'",)
    many = [f"M{number}" for number in range(10, 20)]
    (note,) = spelled({"machine": many}, {"machine": [*many[:-1], "T"]})[1]
    assert note == (
        "machine: 'M19' is new to this book; known: 'M10', 'M11', 'M12', 'M13', 'M14' …"
    )
    (note,) = spelled({"fabric": ["felt", "twill"]}, {"fabric": ["terry towel"]})[1]
    assert note == "fabric: 'felt', 'twill' are new to this book; known: 'terry towel'"


def test_a_new_operator_is_told_without_naming_the_others() -> None:
    notes = spelled({"operator": ["Ola B."]}, {"operator": ["Noor A."]})[1]
    assert notes == ("operator: 'Ola B.' is new to this book",)


@pytest.mark.parametrize(("column", "known"), [("machine", []), ("backing_lot", ["C1"])])
def test_the_first_names_of_a_book_and_new_lots_are_not_told(column: str, known: list[str]) -> None:
    assert spelled({column: ["X7"]}, {column: known})[1] == ()


def test_a_new_name_that_is_close_to_another_is_told_once() -> None:
    (note,) = spelled({"fabric": ["terry towle"]}, {"fabric": ["terry towel"]})[1]
    assert "is new and close to 'terry towel'" in note
