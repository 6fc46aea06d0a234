"""A cost that nobody can know is said to be not known on the pages and on paper too."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from logbook.book.runs import log_run
from logbook.questions.asking import review_charts, weekly_review
from logbook.report import review_page
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore

RUN = {
    "finished_at": "2026-10-06",
    "fabric": "pique polo",
    "backing": "cut_away",
    "pieces_sewn": 60,
    "pieces_inspected": 60,
    "pieces_defective": 2,
}
SETTINGS = """[costs]
piece_value = 12.0
[[price]]
supplier = "Alder"
backing = "cut_away"
per_m2 = 1.0
"""
VIEWS = {"review": "views/weekly_review.py", "suppliers": "views/suppliers.py"}


@pytest.fixture
def book(held: Callable[[DuckStore], DuckStore], tmp_path: Path) -> DuckStore:
    store = held(new_book(str(tmp_path / "book"), settings=SETTINGS))
    outcomes: list[dict[str, Any]] = [
        {"puckering": 2, "gaps": 0, "pieces_spoiled": 1},
        {"puckering": 0, "gaps": 2},
    ]
    for number, told in enumerate(outcomes):
        for supplier in ("Alder", "Birch"):
            setup = {"run_ref": f"{supplier}-{number}", "backing_supplier": supplier}
            log_run(store, {**RUN, **setup, **told}, source="test")
    return store


def _tables(app: AppTest, view: str, **asked: str) -> str:
    app.run().switch_page(VIEWS[view])
    for name, value in asked.items():
        app.query_params[name] = value
    app.run()
    assert not app.exception
    return " ".join(each.proto.body for each in app.get("html") if "<table" in each.proto.body)


def test_the_review_says_so_at_every_width(book: DuckStore, app: AppTest) -> None:
    words = _tables(app, "review", week="2026-W41")
    gaps = words[words.index("Gaps between areas") :].split("</tr>")[0]
    assert "not known" in gaps
    assert "cost not known" in gaps  # below the words, on a phone
    puckering = words[words.index("Puckering") :].split("</tr>")[0]
    assert "not known" not in puckering


def test_the_printed_review_says_so(book: DuckStore) -> None:
    result = weekly_review(book, week="2026-W41")
    page = review_page(result, review_charts(book, result), book.shop)
    table = page[page.index("<table") :]
    gaps = table[table.index("Gaps between areas") :].split("</tr>")[0]
    assert "not known" in gaps


def test_a_supplier_without_a_price(book: DuckStore, app: AppTest) -> None:
    words = _tables(app, "suppliers", backing="cut_away")
    birch = words[words.index("Birch") :].split("</tr>")[0]
    assert "not known" in birch
