"""The weekly review page runs the meeting: empty book, one run, a small shop, the sample year."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import date, datetime
from html import unescape
from pathlib import Path
from typing import Any

import polars as pl
import pytest
import streamlit as st
from small_shop import SCRIPT, WEEK, small_book
from streamlit.testing.v1 import AppTest

from logbook.book.actions import actions, end_action, write_action
from logbook.questions import QUESTIONS
from logbook.questions.control.words import headline, sentences
from logbook.questions.costs import words as costs
from logbook.questions.review.words import in_full
from logbook.questions.review.words.changes import change_sentence
from logbook.questions.review.words.kinds import says
from logbook.report import RECORD_ONLY, answer_page
from logbook.runs.actions import DecidedAction
from logbook.service.access.credentials import Passcode, new_credentials, write_credentials
from logbook.service.access.rights import Access
from logbook.service.access.sessions import begin_session, cookie_name, cookie_of
from logbook.service.state import set_access
from logbook.store.duckdb_store import DuckStore

VIEW = "views/weekly_review.py"


@pytest.fixture
def shop(held: Callable[[DuckStore], DuckStore], tmp_path: Path) -> DuckStore:
    return held(small_book(tmp_path / "book"))


def drawn(app: AppTest, **address: str) -> AppTest:
    app.run()
    for name, value in address.items():
        app.query_params[name] = value
    app.switch_page(VIEW).run()
    assert not app.exception
    return app


def words(app: AppTest) -> str:
    parts = [*app.markdown, *app.info, *app.success, *app.error, *app.warning, *app.caption]
    html = [each.body for each in app.get("html") if not each.body.startswith("<style>")]
    headings = [each.value for each in app.subheader]
    said = "\n".join([*(each.value for each in parts), *map(unescape, html), *headings])
    return said.replace("\\", "")


def field(app: AppTest, sort: str, label: str) -> Any:
    return next(each for each in app.get(sort) if each.label.startswith(label))


def press(app: AppTest, label: str) -> AppTest:
    next(each for each in app.button if each.label == label).click().run()
    assert not app.exception
    return app


def test_an_empty_book_says_what_will_be_here(without_runs: DuckStore, app: AppTest) -> None:
    drawn(app)
    assert "This book has no runs yet." in words(app)
    assert not app.subheader


def test_one_run_makes_a_meeting_too(with_one_run: DuckStore, app: AppTest) -> None:
    drawn(app)
    said = words(app)
    assert "1 run" in said
    assert "No action of an earlier week is written down." in said
    assert "What will be done?" in [each.label for each in app.text_area]


def test_an_action_is_written_down_once_and_kept(shop: DuckStore, app: AppTest) -> None:
    drawn(app, week=WEEK)
    field(app, "text_area", "What").set_value(f"Hoop **again** {SCRIPT}")
    field(app, "text_input", "By whom").set_value("Ida")
    field(app, "selectbox", "Against which defect").set_value("puckering")
    field(app, "selectbox", "Backing supplier").set_value("Cedar")
    press(app, "Write it down")
    (kept,) = actions(shop)
    assert kept.action == DecidedAction(
        f"Hoop **again** {SCRIPT}", WEEK, by="Ida", kind="puckering", backing_supplier="Cedar"
    )
    said = words(app)
    assert f"Written down: Hoop **again** {SCRIPT}" in said
    assert "by Ida (Puckering, backing supplier Cedar)" in said
    assert not field(app, "text_area", "What").value
    raw = "\n".join(each.value for each in [*app.markdown, *app.success])
    assert "**again**" not in raw
    assert "<script" not in raw.replace("\\<", "")


def test_what_is_refused_stays_typed(shop: DuckStore, app: AppTest) -> None:
    drawn(app, week=WEEK)
    field(app, "text_input", "By whom").set_value("Ida")
    press(app, "Write it down")
    assert "say what is to be done" in words(app)
    assert field(app, "text_input", "By whom").value == "Ida"
    assert actions(shop) == ()


def test_an_action_is_ended_on_the_page(shop: DuckStore, app: AppTest) -> None:
    write_action(shop, DecidedAction("Oil M2", "2026-W39"), source="test")
    drawn(app, week=WEEK)
    assert "Oil M2, decided in week 2026-W39" in words(app).replace("**", "")
    field(app, "radio", "What became").set_value("dropped")
    press(app, "Keep it")
    assert "say why it was dropped" in words(app)
    field(app, "text_input", "What is to be said").set_value("M2 was sold")
    press(app, "Keep it")
    (kept,) = actions(shop)
    assert (kept.action.state, kept.action.why) == ("dropped", "M2 was sold")
    assert "It is dropped: Oil M2" in words(app)
    assert "Keep it" not in [each.label for each in app.button], "nothing is left open"


def test_the_page_and_the_file_say_the_same(shop: DuckStore, app: AppTest) -> None:
    kept = write_action(shop, DecidedAction("Oil M2", "2026-W38", kind="puckering"), source="test")
    end_action(shop, kept, state="done", why=None, source="test", on=date(2026, 9, 25))
    drawn(app, week=WEEK)
    answer = QUESTIONS["review"].asked(shop, week=WEEK)
    result = answer.result
    page, file = words(app), unescape(answer_page(answer))
    said = [
        answer.headline,
        in_full(result),
        costs.headline(result.costs),
        *(says(each) for each in result.standing_out),
        *(change_sentence(each) for each in result.changed),
        *(each.says for each in result.actions),
        *(headline(each) for each in result.charts),
        *(further for each in result.charts for further in sentences(each)),
        *(run.why for run in result.look_at),
        *(part for each in result.decided if each.outcome for part in (each.outcome.says,)),
        *answer.notes,
        *result.cautions,
        RECORD_ONLY,
    ]
    assert [each for each in said if each not in page] == []
    assert [each for each in said if each not in file] == []
    order = [each.value for each in app.subheader]
    assert [file.index(f">{title}<") for title in order] == sorted(
        file.index(f">{title}<") for title in order
    )


def test_runs_to_look_at_lead_to_their_page(shop: DuckStore, app: AppTest) -> None:
    drawn(app, week=WEEK)
    links = "".join(each.body for each in app.get("html"))
    assert f'href="/runs?run={WEEK}-3%3Ci%3E"' in links


def test_the_week_is_in_the_address(shop: DuckStore, app: AppTest) -> None:
    drawn(app, week="2026-W38")
    assert field(app, "selectbox", "Week").value == "2026-W38"
    field(app, "selectbox", "Week").set_value("2026-W37").run()
    assert app.query_params["week"] == "2026-W37"


def test_operators_read_and_do_not_write(
    shop: DuckStore, app: AppTest, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_action(shop, DecidedAction("Oil M2", "2026-W39"), source="test")
    access = _operators(shop, monkeypatch)
    try:
        drawn(app, week=WEEK)
        said = words(app)
        assert "Oil M2" in said
        assert "Writing down an action is for reviewers." in said
        assert not app.text_area
        assert "Keep it" not in [each.label for each in app.button]
    finally:
        set_access(None)
    assert access is not None


def _operators(store: DuckStore, monkeypatch: pytest.MonkeyPatch) -> Access:
    """Ask for passcodes, and be signed in as an operator."""
    credentials = new_credentials()
    kept = Passcode("00", "00", 32768, 8, 1, "mark", "2026-10-05")
    write_credentials(
        store.folder, type(credentials)(credentials.key, {"operator": kept, "reviewer": kept})
    )
    access = Access(store.folder)
    set_access(access)
    credentials = access.credentials()
    session = begin_session(credentials, "operator", now=time.time())
    cookies = {cookie_name(credentials): cookie_of(credentials, session)}

    class Cookies:
        def to_dict(self) -> dict[str, str]:
            return cookies

    monkeypatch.setattr(type(st.context), "cookies", property(lambda _: Cookies()))
    return access


def test_a_year_is_reviewed_from_headline_to_action(year_held: DuckStore, app: AppTest) -> None:
    drawn(app)
    assert [each.value for each in app.subheader] == [
        "What is different",
        "How much went wrong",
        "More than luck, or worth watching",
        "What changed in the setup",
        "What cost most",
        "Over the last weeks",
        "Runs to look at",
        "Came in with the goods",
        "Last actions, and whether they worked",
        "Where to look first (common practice)",
        "This week's action",
    ]


def test_weeks_are_chosen_by_their_days_and_later_ones_are_marked(
    shop: DuckStore, app: AppTest
) -> None:
    late = shop.runs(limit=1).with_columns(
        pl.lit("late").alias("run_ref"), pl.lit(datetime(2999, 11, 25, 10)).alias("finished_at")
    )
    shop.put(late, source="test")
    drawn(app)
    weeks = field(app, "selectbox", "Week")
    assert weeks.options[0] == f"{WEEK} · 28 Sep to 4 Oct"
    assert weeks.options[-1] == "2999-W48 · 25 Nov to 1 Dec 2999, after today"
    assert app.query_params["week"] == WEEK
    assert "1 run is dated after today: 25 Nov 2999; look at it on Runs." in words(app)
    weeks.set_value("2999-W48").run()
    assert not app.exception
    assert app.query_params["week"] == "2999-W48"
