"""What is different, at the head of the review: told with its figures, made an action, or known."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from shutil import copytree

import pytest
from streamlit.testing.v1 import AppTest

from dashboards.review_different import trial_address
from logbook.book.actions import actions
from logbook.book.known_findings import known_findings
from logbook.questions import QUESTIONS
from logbook.questions.watch.words.findings import figures, news
from logbook.store import open_book
from logbook.store.duckdb_store import DuckStore

VIEW = "views/weekly_review.py"
WEEK = "2026-W38"
ACT, KNOW, AGAIN = "Make it this week's action", "Known", "Look for it again"


@pytest.fixture
def own_year(
    sample_year: Path, held: Callable[[DuckStore], DuckStore], tmp_path: Path
) -> DuckStore:
    return held(open_book(str(copytree(sample_year, tmp_path / "book"))))


def drawn(app: AppTest) -> AppTest:
    app.run()
    app.query_params["week"] = WEEK
    app.switch_page(VIEW).run()
    assert not app.exception
    return app


def said(app: AppTest) -> str:
    parts = [*app.markdown, *app.caption, *app.success, *app.error]
    return "\n".join(each.value for each in parts).replace("\\", "")


def labels(app: AppTest) -> list[str]:
    return [each.label for each in app.button]


def press(app: AppTest, label: str) -> None:
    next(each for each in app.button if each.label == label).click().run()
    assert not app.exception


def test_each_finding_becomes_an_action_or_known_and_is_followed(
    own_year: DuckStore, app: AppTest
) -> None:
    first, *rest = QUESTIONS["watch"].asked(own_year, week=WEEK).result.news
    before = actions(own_year)
    drawn(app)
    told = said(app)
    assert news(first) in told
    assert figures(first, "EUR") in told
    assert labels(app).count(ACT) == labels(app).count(KNOW) == 1 + len(rest)

    press(app, ACT)
    (kept,) = (each for each in actions(own_year) if each not in before)
    (known,) = known_findings(own_year)
    assert kept.action.what.startswith(f"{first.level['machine']}: thread breaks")
    assert (kept.action.decided, kept.action.kind) == (WEEK, "thread_breaks")
    assert kept.action.machine == first.level["machine"]
    assert (known.ref, known.action) == (first.ref, kept.ref)
    assert "Written down as this week's action" in said(app)
    assert f"An action stands since {WEEK}" in said(app)
    after = QUESTIONS["watch"].asked(own_year, week=WEEK).result
    assert first.ref not in [each.ref for each in after.news]
    assert first.ref in [each.ref for each in after.findings]


def test_what_is_known_is_looked_for_again(own_year: DuckStore, app: AppTest) -> None:
    decided = actions(own_year)
    drawn(app)
    before = labels(app).count(KNOW)
    assert AGAIN not in labels(app)
    press(app, KNOW)
    (known,) = known_findings(own_year)
    assert known.action is None
    assert actions(own_year) == decided
    assert "Known from now on, and followed" in said(app)
    press(app, AGAIN)
    assert known_findings(own_year) == ()
    assert labels(app).count(KNOW) == before


def test_a_finding_about_one_setting_leads_to_a_trial_of_another(year: DuckStore) -> None:
    found = QUESTIONS["watch"].asked(year, week=WEEK).result.findings[0]
    worse = replace(found, direction="above", level={"topping": "none", "fabric": "terry towel"})
    assert trial_address(worse) == "/trials?factor=topping&before=none&fabric=terry+towel"
    assert trial_address(replace(worse, direction="below")) is None
    for level in (
        {},
        {"machine": "M1"},
        {"topping": "none", "backing": "cut_away"},
        {"backing_supplier": "Alder", "backing_lot": "L1"},
    ):
        assert trial_address(replace(worse, level=level)) is None
