"""The pages that look for causes and plan a setup: empty book first, then the sample year."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from logbook.book.runs import log_run
from logbook.store.duckdb_store import DuckStore

APP = Path(__file__).parents[3] / "dashboards" / "app.py"
SECONDS = 120
VIEWS = ("views/factors.py", "views/plan_setup.py")


def page(view: str, **asked: str) -> AppTest:
    app = AppTest.from_file(str(APP), default_timeout=SECONDS).run()
    app.switch_page(view)
    for name, value in asked.items():
        app.query_params[name] = value
    return app.run()


def address(app: AppTest) -> dict[str, str]:
    told = dict(app.query_params)
    return {name: value[0] if isinstance(value, list) else value for name, value in told.items()}


@pytest.mark.parametrize("view", VIEWS)
def test_an_empty_book_says_what_will_be_here(without_runs: DuckStore, view: str) -> None:
    app = page(view)
    assert not app.exception
    assert "This book has no runs yet." in app.info[0].value


def test_a_book_whose_runs_name_no_fabric_is_not_called_empty(without_runs: DuckStore) -> None:
    run = {"finished_at": datetime(2026, 10, 5, 14, 30), "pieces_inspected": 12, "puckering": 1}
    log_run(without_runs, run, source="test")
    app = page("views/plan_setup.py")
    assert not app.exception
    assert "No run in this book names its fabric yet." in app.info[0].value
    assert not any("no runs yet" in each.value for each in app.info)


@pytest.mark.parametrize("view", VIEWS)
def test_one_run_is_too_little_and_that_is_said(with_one_run: DuckStore, view: str) -> None:
    app = page(view)
    assert not app.exception
    said = " ".join(each.value for each in (*app.info, *app.markdown, *app.warning))
    assert "too few" in said.lower() or "no runs" in said.lower()


def test_the_answer_on_factors_comes_first(year_held: DuckStore) -> None:
    app = page("views/factors.py")
    assert not app.exception
    app.selectbox[0].set_value("sinking").run()
    assert not app.exception
    headline = next(each.value for each in app.markdown if each.value.startswith("##### "))
    assert "opping" in headline


def test_a_plan_names_the_change_its_evidence_and_a_trial(year_held: DuckStore) -> None:
    app = page("views/plan_setup.py")
    fabric = next(each for each in app.selectbox if each.label == "Fabric")
    fabric.set_value("terry towel").run()
    topping = next(each for each in app.selectbox if each.label == "Topping")
    topping.set_value("none").run()
    assert not app.exception
    headline = next(each.value for each in app.markdown if each.value.startswith("##### "))
    assert "change topping from no topping to water" in headline
    assert "strong evidence" in headline
    assert any("bears it out" in each.value for each in app.markdown)


ADDRESSES = {
    "views/suppliers.py": {"defect": "puckering", "backing": "cut_away", "reference": "Birch"},
    "views/factors.py": {"defect": "sinking"},
    "views/plan_setup.py": {"fabric": "terry towel", "fabric_shade": "light", "topping": "none"},
    "views/weekly_review.py": {"week": "2026-W30"},
}


@pytest.mark.parametrize("view", ADDRESSES)
def test_a_view_that_was_sent_to_a_colleague_opens_as_it_was(
    year_held: DuckStore, view: str
) -> None:
    app = page(view, **ADDRESSES[view])
    assert not app.exception
    assert ADDRESSES[view].items() <= address(app).items()
    values = {each.value for each in app.selectbox}
    assert set(ADDRESSES[view].values()) <= values


def test_what_is_chosen_goes_into_the_address(year_held: DuckStore) -> None:
    app = page("views/suppliers.py")
    next(each for each in app.selectbox if each.label == "Compare with").set_value("Birch").run()
    assert not app.exception
    assert address(app)["reference"] == "Birch"
    headline = next(each.value for each in app.markdown if each.value.startswith("##### "))
    assert "Birch" in headline


def test_the_figures_behind_the_tables_can_be_downloaded(year_held: DuckStore) -> None:
    app = page("views/suppliers.py", defect="puckering")
    labels = [each.proto.label for each in app.get("download_button")]
    assert "Download the figures (CSV)" in labels
