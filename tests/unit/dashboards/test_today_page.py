"""Today without a browser: an empty book, one run, and what waits."""

from __future__ import annotations

from typing import Any

from streamlit.testing.v1 import AppTest

from logbook.book.actions import write_action
from logbook.calendar_weeks import iso_week
from logbook.runs.actions import DecidedAction
from logbook.store.duckdb_store import DuckStore

VIEW = "views/today.py"


def words(app: AppTest) -> str:
    said: list[Any] = [*app.markdown, *app.subheader, *app.get("html")]
    return "\n".join(str(each.value if hasattr(each, "value") else each.proto) for each in said)


def test_an_empty_book_shows_two_ways_to_begin(without_runs: DuckStore, app: AppTest) -> None:
    app.switch_page(VIEW).run()
    assert not app.exception
    assert "Two ways to begin" in words(app)


def test_what_waits_and_what_was_sewn_last_are_listed(
    with_one_run: DuckStore, app: AppTest
) -> None:
    first = with_one_run.span()
    assert first is not None
    action = DecidedAction("Try *finer* mesh", iso_week(first[1]), by="Ada")
    write_action(with_one_run, action, source="test")
    app.switch_page(VIEW).run()
    assert not app.exception
    said = words(app)
    assert "[Try \\*finer\\* mesh, Ada](/review#last-actions)" in said
    assert "What was sewn last" in said


def test_nothing_waits(with_one_run: DuckStore, app: AppTest) -> None:
    app.switch_page(VIEW).run()
    assert "Nothing." in words(app)
