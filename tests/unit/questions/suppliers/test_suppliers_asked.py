"""Suppliers compared in a book whose answers can be worked out by hand."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from small_shop import MUCH_PUCKERED, RUNS_A_WEEK, USUAL_PUCKERED, WEEKS_BEFORE, small_book

from logbook.errors import AnalysisError, TooLittleData
from logbook.questions.suppliers import QUESTION
from logbook.questions.suppliers.result import SuppliersResult
from logbook.store.duckdb_store import DuckStore


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DuckStore]:
    with small_book(tmp_path_factory.mktemp("suppliers") / "book") as store:
        yield store


def asked(book: DuckStore, **told: Any) -> SuppliersResult:
    return QUESTION.answer(book, QUESTION.parsed({"defect": "puckering", **told})).result


def test_suppliers_are_counted_over_the_whole_book(book: DuckStore) -> None:
    result = asked(book, reference="Alder", margin="0,7")
    rows = {row.supplier: row.counted for row in result.suppliers}
    runs = RUNS_A_WEEK // 2 * (WEEKS_BEFORE + 1)
    on_alder = RUNS_A_WEEK // 2 * (WEEKS_BEFORE * USUAL_PUCKERED + MUCH_PUCKERED)
    assert (rows["Alder"].runs, rows["Alder"].count) == (runs, on_alder)
    assert (rows["Cedar"].runs, rows["Cedar"].count) == (runs, on_alder + runs)
    assert result.margin == pytest.approx(0.007)


def test_a_backing_narrows_the_comparison(book: DuckStore) -> None:
    both = asked(book, backing="cutaway")
    assert {stratum.job.backing for stratum in both.strata} == {"cut_away"}
    with pytest.raises(TooLittleData):
        asked(book, backing="tear_away")


def test_a_window_narrows_what_is_counted(book: DuckStore) -> None:
    week = asked(book, since="2026-09-28", until="2026-10-04")
    assert sum(row.counted.runs for row in week.suppliers) == RUNS_A_WEEK
    with pytest.raises(TooLittleData):
        asked(book, since="2031-01-01")


def test_a_reference_must_be_among_the_suppliers(book: DuckStore) -> None:
    with pytest.raises(AnalysisError, match="Elm"):
        asked(book, reference="Elm")


def test_a_phone_leaves_out_neither_verdict_nor_money(book: DuckStore) -> None:
    answer = QUESTION.answer(book, QUESTION.parsed({"defect": "puckering", "reference": "Alder"}))
    side_by_side, check, groups = answer.tables
    assert check.folded
    assert groups.folded
    kept = [heading.words for heading in side_by_side.headings if not heading.wide_only]
    assert kept == [
        "Supplier",
        "On the same jobs, points",
        "Verdict",
        f"100 good pieces, {answer.shop.currency}",
    ]
    names = [heading.words for heading in side_by_side.headings]
    alder, cedar = side_by_side.rows
    counted, every = (alder[names.index(name)].words for name in ("Counted", "All jobs"))
    assert alder[0].narrow == (counted, f"{every} of all jobs")
    assert cedar[names.index(kept[1])].words.endswith(" more")
    low, high = cedar[names.index("95 % interval")].words.split(" to ")
    assert {low[0], high[0]} <= {"+", "−"}
