"""The weekly review is short on a screen and whole on paper: what is folded, and what never is."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from pathlib import Path

import pytest
from small_shop import WEEK, small_book
from streamlit.testing.v1 import AppTest

from dashboards import review_titles
from dashboards.review_charts import HOW_TO_READ, is_news
from dashboards.review_table import IN_SIGHT, in_sight
from logbook import service
from logbook.questions import QUESTIONS
from logbook.questions.answer import Answer
from logbook.questions.control.words import headline
from logbook.questions.review.changes import Change
from logbook.questions.review.result import ReviewResult
from logbook.questions.review.words.kinds import says
from logbook.report import RECORD_ONLY, answer_page
from logbook.store.duckdb_store import DuckStore
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD

VIEW = "views/weekly_review.py"
LAST_WEEK = "2026-W46"
LOOK_FIRST = "Where to look first (common practice)"
FORM = {
    "Only one machine, fabric, backing, supplier or design",
    "An action is done, or dropped",
}
"""Folds of what is typed, not of what was found."""


@pytest.fixture(scope="module")
def reviewed(year: DuckStore) -> Answer[ReviewResult]:
    return QUESTIONS["review"].asked(year, week=LAST_WEEK)


@pytest.fixture(scope="module")
def app_of_the_year(year: DuckStore) -> AppTest:
    page = Path(__file__).parents[3] / "dashboards" / "app.py"
    service.set_book(year)
    try:
        return drawn(AppTest.from_file(str(page), default_timeout=120), LAST_WEEK)
    finally:
        service.set_book(None)


def drawn(app: AppTest, week: str) -> AppTest:
    app.run()
    app.query_params["week"] = week
    app.switch_page(VIEW).run()
    assert not app.exception
    return app


def titles(app: AppTest) -> list[str]:
    return [each.label.replace("\\", "") for each in app.expander]


def folded(app: AppTest) -> str:
    """All that is read only after unfolding."""
    said = []
    for fold in app.expander:
        parts = [*fold.markdown, *fold.caption, *fold.warning, *fold.error]
        said += [each.value.replace("\\", "") for each in parts]
        said += [unescape(each.body) for each in fold.get("html")]
    return "\n".join(said)


def whole(app: AppTest) -> str:
    parts = [*app.markdown, *app.caption, *app.warning, *app.error]
    said = [each.value.replace("\\", "") for each in parts]
    return "\n".join([*said, *(unescape(each.body) for each in app.get("html"))])


def test_titles_say_what_was_found(app_of_the_year: AppTest) -> None:
    assert [each for each in titles(app_of_the_year) if each not in FORM] == [
        LOOK_FIRST,
        LOOK_FIRST,
        LOOK_FIRST,
        "Topping Water-soluble film: sinking stitches down to 24 % of what was to be expected "
        "since 2026-W31 (found)",
        LOOK_FIRST,
        "The week in figures: 145 runs, 126 of 3,062 pieces inspected with a defect",
        "12 more kinds of defect, all as usual",
        "Backing supplier: Cedar up, Alder down, Dogwood up. Topping: Water-soluble film up. "
        "Hooping: Stuck on adhesive up",
        "The costs as a chart: thread breaks 42 %, bird nests 19 % and gaps between areas 15 %",
        HOW_TO_READ,
        "Any defect: 4 weeks stand out; the latest, 2026-W32, better than usual",
        "Everything that stands out: 3 weeks worse than usual and 2 weeks better than usual",
        "Sinking stitches: 17 weeks stand out; the latest, 2026-W46, better than usual",
        "4 more runs, for gaps between areas and sinking stitches",
        "Faults of the fabric: 0.13 %, as usual",
        "What is usually tried first for gaps between areas and thread breaks, with 4 cautions",
        "What to keep in mind: 2 notes on these figures",
    ]
    assert not any(each.proto.expanded for each in app_of_the_year.expander)


def test_what_must_be_read_is_never_folded(
    app_of_the_year: AppTest, reviewed: Answer[ReviewResult]
) -> None:
    result = reviewed.result
    assert result.held
    assert result.standing_out
    always = [
        reviewed.headline,
        BROKEN_NEEDLE_HELD,
        *(says(each) for each in result.standing_out),
        *(headline(each) for each in result.charts if is_news(each, result)),
        RECORD_ONLY,
    ]
    page, behind = whole(app_of_the_year), folded(app_of_the_year)
    assert [each for each in always if not page.count(each) > behind.count(each)] == []


def test_advice_is_never_without_its_cautions(
    app_of_the_year: AppTest, reviewed: Answer[ReviewResult]
) -> None:
    result = reviewed.result
    assert result.actions
    assert result.cautions
    (fold,) = [each for each in app_of_the_year.expander if "tried first" in each.label]
    within = "\n".join(each.value.replace("\\", "") for each in [*fold.markdown, *fold.warning])
    assert [each.says for each in result.actions if each.says not in within] == []
    assert [each for each in result.cautions if each not in within] == []


def test_the_page_holds_what_the_file_holds(
    app_of_the_year: AppTest, reviewed: Answer[ReviewResult], year: DuckStore
) -> None:
    """Every line of the file, with its figures, is on the page, unfolded or not."""
    file = answer_page(reviewed)
    body = file.partition("<body>")[2]
    body = re.sub(r'<div class="(?:wide|narrow)">.*?</div>', "", body, flags=re.DOTALL)
    lines = re.findall(r"<(?:td|li|p|figcaption)[^>]*>(.*?)</(?:td|li|p|figcaption)>", body, re.S)
    told = [_plain(line) for line in lines]
    page = _plain(whole(app_of_the_year)).casefold().replace("**", "")
    assert len(told) > 100
    assert [each for each in told if each.removeprefix("Caution. ").casefold() not in page] == []


def test_no_row_of_the_table_is_lost(
    app_of_the_year: AppTest, reviewed: Answer[ReviewResult], year: DuckStore
) -> None:
    tables = [each.body for each in app_of_the_year.get("html") if "<table>" in each.body]
    page = [row for each in tables for row in _rows(each)]
    file = _rows(answer_page(reviewed))
    assert len(tables) == 2
    assert len(page) == len(reviewed.result.rows)
    assert sorted(page) == sorted(file)


def _rows(html: str) -> list[tuple[str, ...]]:
    html = re.sub(r'<span class="narrow-only">.*?</span>', "", html.partition("<tbody>")[2])
    return [
        tuple(_plain(cell).casefold() for cell in re.findall(r"<t[hd]\b.*?</t[hd]>", row, re.S))
        for row in re.findall(r"<tr>.*?</tr>", html.partition("</tbody>")[0], re.S)
    ]


def _plain(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", "", html)).split())


def test_kinds_that_stand_out_are_in_sight(reviewed: Answer[ReviewResult]) -> None:
    result = reviewed.result
    seen, rest = in_sight(result)
    assert len(seen) == IN_SIGHT
    assert rest
    assert {id(each) for each in result.standing_out} <= {id(each) for each in seen}
    places = [result.rows.index(each) for each in seen]
    assert places == sorted(places)
    assert sorted([*places, *(result.rows.index(each) for each in rest)]) == list(
        range(len(result.rows))
    )


def test_few_kinds_are_not_folded(
    held: Callable[[DuckStore], DuckStore], tmp_path: Path, app: AppTest
) -> None:
    shop = held(small_book(tmp_path / "book"))
    result = QUESTIONS["review"].asked(shop, week=WEEK).result
    assert in_sight(result) == (list(result.rows), [])
    drawn(app, WEEK)
    said = titles(app)
    assert not any("more kinds" in each or "more runs" in each for each in said)
    assert "Thread breaks: no week stands out" in said
    assert not any(each.startswith("Puckering") for each in said), "it is this week's news"


def test_links_lead_to_parts_that_are_there(app_of_the_year: AppTest) -> None:
    (nav,) = [each.body for each in app_of_the_year.get("html") if 'class="ways"' in each.body]
    asked = re.findall(r'href="#([^"]+)"', nav)
    anchors = [each.proto.anchor for each in app_of_the_year.subheader if each.proto.anchor]
    assert asked == anchors
    assert len(asked) == 9


def test_titles_show_names_as_typed() -> None:
    changed = Change(
        factor="backing_supplier",
        level="**Alder** <b>",
        what="up",
        share=0.5,
        share_before=0.1,
        pieces=10,
        all_pieces=20,
    )
    assert review_titles.changes([changed]) == "Backing supplier: **Alder** <b> up"


def test_words_are_listed_as_read_aloud() -> None:
    assert [review_titles.listed(each) for each in ((), ("a",), ("a", "b"), ("a", "b", "c"))] == [
        "",
        "a",
        "a and b",
        "a, b and c",
    ]
