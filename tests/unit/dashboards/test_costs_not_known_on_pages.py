"""A cost that nobody can know is said to be not known on the pages and on paper too."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from logbook.book.runs import log_run
from logbook.questions import QUESTIONS
from logbook.questions.costs import figure
from logbook.report import answer_page
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
    page = answer_page(QUESTIONS["review"].asked(book, week="2026-W41"))
    table = page[page.index("<table") :]
    gaps = table[table.index("Gaps between areas") :].split("</tr>")[0]
    assert "not known" in gaps


@pytest.fixture
def two_known(book: DuckStore) -> DuckStore:
    """A third kind, with a cost, so that there is something to draw."""
    outcome = {"run_ref": "third", "backing_supplier": "Alder", "looping": 3, "pieces_spoiled": 2}
    log_run(book, {**RUN, **outcome, "pieces_defective": 3}, source="test")
    return book


def test_a_cost_not_known_is_not_drawn_and_that_is_said(two_known: DuckStore, app: AppTest) -> None:
    answer = QUESTIONS["review"].asked(two_known, week="2026-W41")
    drawn = figure.draw(answer.result.costs)
    assert set(drawn.data[0].y) == {"Puckering", "Looping"}
    assert all(amount > 0 for amount in drawn.data[0].x)
    said = "Not drawn, since the cost is not known: gaps between areas."
    page = answer_page(answer)
    assert said in page
    assert "Gaps" not in page.split("<title>What it cost")[1].split("</svg>")[0]
    _tables(app, "review", week="2026-W41")
    assert said in [each.value.replace("\\", "") for each in app.caption]


def test_no_chart_is_drawn_of_costs_that_are_all_nothing(
    held: Callable[[DuckStore], DuckStore], tmp_path: Path, app: AppTest
) -> None:
    store = held(new_book(str(tmp_path / "nothing-lost")))
    outcome = {"puckering": 2, "gaps": 1, "pieces_spoiled": 0, "pieces_reworked": 0}
    log_run(store, {**RUN, "run_ref": "kept", "thread_breaks": 0, **outcome}, source="test")
    page = answer_page(QUESTIONS["review"].asked(store, week="2026-W41"))
    assert "EUR 0.00" not in page.split("What cost most")[1]
    _tables(app, "review", week="2026-W41")
    assert not [each for each in app.expander if each.label.startswith("The costs as a chart")]
    assert "No cost was recorded for any defect" in " ".join(each.value for each in app.markdown)


def test_a_supplier_without_a_price(book: DuckStore, app: AppTest) -> None:
    words = _tables(app, "suppliers", backing="cut_away")
    birch = words[words.index("Birch") :].split("</tr>")[0]
    assert "not known" in birch
