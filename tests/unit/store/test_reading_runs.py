"""Reading runs back: values unchanged, windows, order, known spellings."""

from __future__ import annotations

import math
from datetime import date, datetime

import polars as pl
import pytest
from run_frames import MONDAY, frame, run

from logbook.errors import StoreError
from logbook.runs.columns import COLUMNS, run_schema
from logbook.store import Window, new_book, open_book

HARD_TEXTS = (
    'O\'Neill & "Söhne"; DROP TABLE runs; --',
    "x' OR '1'='1",
    "%_?$1:name",
    "Ünïcödé 刺繡 🧵 \u202e reversed",
    "tab\tline\nreturn\r\u0000nul\x1funit",
    "  spaces kept  ",
    "",
    "NULL",
    "n" * 5000,
)


def full_run(run_ref: str) -> dict[str, object]:
    """A run with every column of the sheet recorded."""
    values: dict[str, object] = {
        "text": "some text",
        "integer": 3,
        "number": 0.1 + 0.2,
        "boolean": True,
        "moment": datetime(2026, 2, 28, 23, 59, 59, 999_999),
    }
    row = {
        column.name: column.choices.values[-1] if column.choices else values[column.type]
        for column in COLUMNS
    }
    return {**row, "run_ref": run_ref}


def test_the_last_run_is_the_newest_that_was_not_withdrawn(place: str) -> None:
    with new_book(place) as store:
        store.put(frame([run("R-1")]), source="a.csv")
    # Opened again: runs logged since then lie apart from the earlier ones in the file.
    with open_book(place) as store:
        for run_ref, finished_at in (("R-2", MONDAY), ("R-3", datetime(2026, 11, 28))):
            store.put(frame([run(run_ref, finished_at=finished_at)]), source="form")
            store.withdraw(run_ref, why="entered twice", source="form")
        last = store.last_run()
        assert last is not None
        assert last["run_ref"] == "R-1"
        assert store.runs(newest_first=True, limit=2)["run_ref"].to_list() == ["R-1"]


def test_every_column_comes_back_as_it_was_put(book) -> None:
    sheet = frame([full_run("R-1"), {"run_ref": "R-2", "finished_at": MONDAY}])
    book.put(sheet, source="a.csv")
    assert book.runs().schema == pl.Schema(run_schema())
    assert book.runs().equals(sheet)


@pytest.mark.parametrize("text", HARD_TEXTS, ids=range(len(HARD_TEXTS)))
def test_text_of_any_kind_is_plain_text(book, text: str) -> None:
    reference = f"ref {text}"
    sheet = frame(
        [run(reference, notes=text, machine=text, operator=text, site=text), run("R-2", site="s")]
    )
    book.put(sheet, source=text)
    assert book.put(sheet, source=text).skipped == 2
    row = book.runs(refs=[reference]).row(0, named=True)
    assert (row["run_ref"], row["notes"], row["operator"]) == (reference, text, text)
    assert text in book.known("machine")
    assert book.runs(Window(site=text)).height == 1
    assert book.runs(Window(where={"operator": text})).height == 1
    assert book.cells(["gaps"], by=["operator"], window=Window(where={"machine": text})).height == 1
    assert book.totals(window=Window(site=text))["runs"].item() == 1
    last = book.last_run(machine=text)
    assert last is not None
    assert last["run_ref"] == reference
    book.amend(reference, frame([run(reference, notes=text, gaps=5)]), why=text, source=text)
    logged, amended = book.history(reference)
    assert logged.content["notes"] == text
    assert (amended.why, amended.source) == (text, text)
    book.withdraw(reference, why=text, source=text)
    assert book.history(reference)[-1].why == text
    assert book.count() == 1


@pytest.mark.parametrize("number", [0.1, 1e-300, 1e300, math.pi, 5e-324, 33.906 * 1.5])
def test_numbers_keep_every_bit(book, number: float) -> None:
    book.put(frame([run("R-1", run_minutes=number)]), source="a")
    assert book.runs()["run_minutes"].item() == number
    assert book.put(frame([run("R-1", run_minutes=number)]), source="a").skipped == 1


def three_days(book) -> None:
    moments = {
        "before": datetime(2026, 10, 4, 23, 59, 59, 999_999),
        "first": datetime(2026, 10, 5),
        "noon": datetime(2026, 10, 5, 12),
        "last": datetime(2026, 10, 6, 23, 59, 59, 999_999),
        "after": datetime(2026, 10, 7),
    }
    rows = [
        run(name, finished_at=moment, site="Mill Lane" if name != "noon" else "Quay")
        for name, moment in moments.items()
    ]
    book.put(frame(rows[::-1]), source="a")


def test_windows_hold_both_days_whole(book) -> None:
    three_days(book)
    window = Window(since=date(2026, 10, 5), until=date(2026, 10, 6))
    assert book.runs(window)["run_ref"].to_list() == ["first", "noon", "last"]
    assert book.runs(Window(since=date(2026, 10, 7)))["run_ref"].to_list() == ["after"]
    assert book.runs(Window(until=date(2026, 10, 4)))["run_ref"].to_list() == ["before"]
    one_day = Window(since=date(2026, 10, 6), until=date(2026, 10, 6))
    assert book.runs(one_day)["run_ref"].to_list() == ["last"]
    backwards = Window(since=date(2026, 10, 6), until=date(2026, 10, 5))
    assert book.runs(backwards).is_empty()
    assert book.totals(window=window)["runs"].item() == 3
    assert book.cells(["gaps"], window=window)["runs"].item() == 3


def test_sites_are_matched_whatever_their_case(book) -> None:
    three_days(book)
    assert book.runs(Window(site="MILL lane")).height == 4
    assert book.runs(Window(site="quay"))["run_ref"].to_list() == ["noon"]
    assert book.runs(Window(site="elsewhere")).is_empty()


def test_order_limit_and_references(book) -> None:
    three_days(book)
    assert book.runs()["run_ref"].to_list() == ["before", "first", "noon", "last", "after"]
    newest = book.runs(newest_first=True, limit=2)
    assert newest["run_ref"].to_list() == ["after", "last"]
    assert book.runs(limit=0).is_empty()
    assert book.runs(refs=["noon", "nobody", "first"])["run_ref"].to_list() == ["first", "noon"]
    assert book.runs(refs=[]).is_empty()
    window = Window(site="Quay")
    assert book.runs(window, refs=["noon", "first"])["run_ref"].to_list() == ["noon"]


def test_runs_of_one_moment_keep_a_fixed_order(book) -> None:
    book.put(frame([run(name) for name in ("b", "c", "a")]), source="a")
    assert book.runs()["run_ref"].to_list() == ["a", "b", "c"]
    assert book.runs(newest_first=True)["run_ref"].to_list() == ["c", "b", "a"]


def test_the_last_run_of_all_and_of_a_machine(book) -> None:
    assert book.last_run() is None
    rows = [
        run("R-1", machine="M1", finished_at=datetime(2026, 10, 5, 8)),
        run("R-2", machine="M2", finished_at=datetime(2026, 10, 5, 9)),
    ]
    book.put(frame(rows), source="form")
    assert book.last_run()["run_ref"] == "R-2"
    assert book.last_run(machine="M1")["run_ref"] == "R-1"
    assert book.last_run(machine="M3") is None


def test_known_spellings_the_most_used_first(book) -> None:
    assert book.known("machine") == ()
    machines = ["M2", "M1", "M2", None, "M3", "M1", "M2"]
    rows = [run(f"R-{number}", machine=machine) for number, machine in enumerate(machines)]
    book.put(frame(rows), source="form")
    assert book.known("machine") == ("M2", "M1", "M3")
    book.withdraw("R-4", why="test piece", source="office")
    assert book.known("machine") == ("M2", "M1")


@pytest.mark.parametrize("column", ["notes", "gaps", "run_ref", "nothing", 'machine" FROM runs --'])
def test_only_open_lists_have_known_spellings(book, column: str) -> None:
    with pytest.raises(StoreError, match="not an open list"):
        book.known(column)


def test_the_span_of_days(book) -> None:
    assert book.span() is None
    three_days(book)
    assert book.span() == (date(2026, 10, 4), date(2026, 10, 7))


def test_filters_are_told_by_name(book) -> None:
    three_days(book)
    assert book.runs(Window(where={"day": "2026-10-05", "site": "Quay"})).height == 1
    assert book.runs(Window(where={"week": "2026-W41"})).height == 4
    with pytest.raises(StoreError, match="colour"):
        book.runs(Window(where={"colour": "x"}))
    with pytest.raises(StoreError, match="1=1"):
        book.runs(Window(where={"1=1 OR site": "x"}))


def test_filters_on_numbers_flags_and_bands(book) -> None:
    rows = [
        run("R-1", needle_nm=75, backing_gsm=60.5, fabric_sheer=True),
        run("R-2", needle_nm=80, backing_gsm=100.0, fabric_sheer=False),
        run("R-3"),
    ]
    book.put(frame(rows), source="form")
    for where in (
        {"needle_nm": 75},
        {"backing_gsm": 60.5},
        {"fabric_sheer": True},
        {"weight_band": "light"},
    ):
        assert book.runs(Window(where=where))["run_ref"].to_list() == ["R-1"], where
