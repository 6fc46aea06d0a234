"""What people type is shown as typed: never markup, never a picture from elsewhere."""

from __future__ import annotations

from pathlib import Path

import pytest
from logged_runs import EARLIER_RUN, book_of_one
from streamlit.testing.v1 import AppTest

from dashboards.showing import plain_markdown
from logbook import service
from logbook.book.runs import log_run
from logbook.charts.theme import plain_text
from logbook.store.duckdb_store import DuckStore

NASTY = "<script>alert(1)</script> ![x](http://elsewhere.example/x.png) **M1**"
NAMES = ("machine", "operator", "job", "design", "fabric", "backing_supplier", "backing_lot")


def _raw(app: AppTest) -> list[str]:
    """Texts in which the nasty name could act."""
    markdown = [*app.markdown, *app.info, *app.error, *app.success, *app.warning, *app.caption]
    read_as_markdown = [each.value for each in markdown] + [each.label for each in app.button]
    read_as_markdown += [each.content for pills in app.button_group for each in pills.proto.options]
    html = [each.body for each in app.get("html")]
    return [
        text
        for text in read_as_markdown
        if "![x](" in text or ("**M1**" in text) or "<script" in text.replace("\\<", "")
    ] + [text for text in html if "<script" in text]


@pytest.fixture
def nasty_book(tmp_path: Path) -> DuckStore:
    store = book_of_one(tmp_path / "book", **dict.fromkeys(NAMES, NASTY), run_ref=f"R {NASTY}")
    held = dict.fromkeys(NAMES, NASTY) | {"run_ref": NASTY, "needle_breaks": 1}
    log_run(store, {**EARLIER_RUN, **held, "needle_parts_found": False}, source="test")
    service.set_book(store)
    return store


@pytest.mark.parametrize(
    "page", ["views/log.py", "views/weekly_review.py", "views/runs.py", "views/runs.py?run"]
)
def test_no_name_acts_on_a_page(nasty_book: DuckStore, app: AppTest, page: str) -> None:
    try:
        app.run()
        if page != "views/log.py":
            view, _, opened = page.partition("?")
            app.switch_page(view)
            if opened:
                app.query_params["run"] = NASTY
            app.run()
        assert not app.exception
        shown = "\n".join(each.value for each in [*app.markdown, *app.error])
        shown += "".join(each.body for each in app.get("html"))
        assert "alert(1)" in shown.replace("\\", "")  # it is there, harmless
        assert _raw(app) == []
    finally:
        service.close_book()


def test_an_error_shows_what_was_typed_as_typed() -> None:
    def page() -> None:
        from dashboards.shared import explain
        from logbook.errors import StoreError

        explain(StoreError("No run ![x](http://elsewhere.example) <b>.", "look at **it**"))

    app = AppTest.from_function(page).run()
    (error,) = app.error
    assert "![" not in error.value
    assert "**it**" not in error.value
    assert "elsewhere.example" in error.value


def test_figures_show_names_as_typed() -> None:
    assert plain_text("<a href=x>R&D</a>") == "&lt;a href=x&gt;R&amp;D&lt;/a&gt;"


def test_every_mark_of_markdown_is_taken_from_its_meaning() -> None:
    assert plain_markdown("a*b") == "a\\*b"
    assert plain_markdown("") == ""
