"""The page that is made of a question's declaration alone."""

from __future__ import annotations

import pytest
from streamlit.testing.v1 import AppTest

from logbook.questions import QUESTIONS
from logbook.store.duckdb_store import DuckStore

SHOWN = """
from dashboards.question_page import show
from dashboards.shared import plainly
from logbook.questions import QUESTIONS

with plainly():
    show(QUESTIONS[{name!r}])
"""


def page(name: str, **asked: str) -> AppTest:
    app = AppTest.from_string(SHOWN.format(name=name), default_timeout=120)
    for parameter, value in asked.items():
        app.query_params[parameter] = value
    return app.run()


def headline(app: AppTest) -> str:
    return next(each.value for each in app.markdown if each.value.startswith("##### "))


@pytest.mark.parametrize("name", QUESTIONS)
def test_an_empty_book_says_what_will_be_here(without_runs: DuckStore, name: str) -> None:
    app = page(name)
    assert not app.exception
    assert "This book has no runs yet." in app.info[0].value


def test_the_address_fills_the_fields_and_fields_fill_the_address(year_held: DuckStore) -> None:
    app = page("where", by="machine", defect="thread_breaks", since="2026-08-10")
    assert not app.exception
    assert headline(app).startswith("##### Machine M3 four-head shows 1.5")
    by = next(each for each in app.selectbox if each.label == "By")
    assert by.value == "machine"
    by.set_value("fabric").run()
    assert not app.exception
    assert app.query_params["by"] in ("fabric", ["fabric"])
    assert "Machine" not in headline(app)


def test_a_chart_is_drawn_with_its_signals_and_its_table(year_held: DuckStore) -> None:
    app = page("chart", defect="gaps", by="month", until="2026-10-31")
    assert not app.exception
    assert headline(app).startswith("##### Gaps between areas")
    assert len(app.get("plotly_chart")) == 1
    assert [each.proto.label for each in app.get("download_button")] == [
        "Download the figures (CSV)"
    ]


def test_what_cannot_be_asked_is_said_in_words(year_held: DuckStore) -> None:
    app = page("chart", defect="gaps", baseline="2026-W01")
    assert not app.exception
    said = " ".join(each.value for each in (*app.error, *app.info, *app.warning))
    assert "FROM" in said
