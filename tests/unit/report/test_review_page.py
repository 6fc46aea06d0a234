"""The page of a review: nothing of a user acts on it, nothing comes from outside, same digits."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from html.parser import HTMLParser
from pathlib import Path

import pytest
from rich.console import Console
from small_shop import MUCH_PUCKERED, PIECES, RUNS_A_WEEK, SCRIPT, WEEK, small_book
from weeks_of_runs import WEEK as WEEK_OF_PLAIN_RUNS
from weeks_of_runs import book, plain_week, plain_weeks

from logbook.cli.render import show_answer
from logbook.errors import IntakeError
from logbook.questions import QUESTIONS
from logbook.questions.answer import Answer
from logbook.questions.control.words import headline
from logbook.questions.review.result import ReviewResult
from logbook.questions.review.words import held_names, in_full
from logbook.report import answer_page, write_answer
from logbook.short_figures import interval_short, rate_short
from logbook.store import new_book
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD
from logbook.wording import money, number

SVG = 'xmlns="http://www.w3.org/2000/svg"'
Reviewed = Answer[ReviewResult]


@pytest.fixture(scope="module")
def reviewed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Reviewed]:
    with small_book(tmp_path_factory.mktemp("report") / "book") as store:
        yield QUESTIONS["review"].asked(store, week=WEEK)


@pytest.fixture(scope="module")
def page(reviewed: Reviewed) -> str:
    return answer_page(reviewed)


class _Elements(HTMLParser):
    """Which elements a page has, whether they are closed, and what their attributes name."""

    VOID = frozenset({"meta", "link", "br", "img", "hr", "input"})

    def __init__(self) -> None:
        super().__init__()
        self.names: list[str] = []
        self.attributes: list[tuple[str, str]] = []
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.append(tag)
        self.attributes += [(name, value or "") for name, value in attrs]
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.append(tag)
        self.attributes += [(name, value or "") for name, value in attrs]

    def handle_endtag(self, tag: str) -> None:
        assert self.open[-1] == tag, f"{tag} closes {self.open[-1]}"
        self.open.pop()


def _elements(page: str) -> _Elements:
    found = _Elements()
    found.feed(page)
    found.close()
    return found


def test_text_of_users_is_shown_and_never_acts(page: str) -> None:
    assert "<script" not in page.lower()
    assert "<i>" not in page
    assert "&lt;script&gt;" in page
    assert SCRIPT in unescape(page), "the shop's name is shown as it was written"
    names = _elements(page).names
    assert "script" not in names
    assert "i" not in names


def test_no_attribute_runs_or_loads_anything(page: str) -> None:
    attributes = _elements(page).attributes
    assert [name for name, _ in attributes if name.startswith("on")] == []
    assert [name for name, _ in attributes if name in ("src", "href", "srcset", "action")] == []


def test_nothing_comes_from_outside(page: str) -> None:
    assert SVG in page, "the page has drawings"
    rest = page.replace(SVG, "")
    assert re.findall(r"https?:", rest) == []
    assert re.findall(r"url\(|@import|//[a-z]", rest) == []


def test_every_element_is_closed(page: str) -> None:
    assert _elements(page).open == []


def test_the_digits_are_those_of_the_result(page: str, reviewed: Reviewed) -> None:
    result = reviewed.result
    text = unescape(page).replace("\N{NO-BREAK SPACE}", " ")
    assert in_full(result) in text
    assert result.defects
    for each in (*result.defects, result.any_defect):
        assert each is not None
        judged = each.judged
        measure = judged.kind.measure
        row = re.search(
            rf'<tr><th scope="row" class=" ">{judged.kind.label}<.*?</tr>', text, flags=re.DOTALL
        )
        assert row is not None, judged.kind.label
        said = re.sub(r"<span.*?</span>", "", row[0])
        cells = re.findall(r"<td[^>]*>(.*?)</td>", said)
        assert cells[0].startswith(number(judged.count))
        assert cells[1] == rate_short(measure, judged.rate)
        assert cells[2] == interval_short(measure, judged.interval)
        assert cells[3] == rate_short(measure, judged.rate_before)
        if each.cost is not None and each.cost.count:
            assert cells[5] == money(each.cost.cost, "").strip()


def test_the_week_that_puckered_is_counted_by_hand(page: str) -> None:
    puckered = RUNS_A_WEEK * MUCH_PUCKERED + RUNS_A_WEEK // 2
    row = re.search(r"<tr><th[^>]*>Puckering<.*?</tr>", page, flags=re.DOTALL)
    assert row is not None
    assert f"{puckered} of {RUNS_A_WEEK * PIECES}" in row[0]
    assert f"{100 * puckered / (RUNS_A_WEEK * PIECES):.1f}\N{NO-BREAK SPACE}%" in row[0]
    assert "More than usual" in row[0]


def test_held_runs_stand_with_the_full_caution(page: str, reviewed: Reviewed) -> None:
    text = unescape(page)
    assert reviewed.result.held
    assert all(run.run_ref in text for run in reviewed.result.held)
    assert BROKEN_NEEDLE_HELD in text


@pytest.mark.parametrize("week", ["2026-W40", "2026-W41", "2027-W30"])
def test_a_held_run_is_named_in_the_review_of_every_other_week(tmp_path: Path, week: str) -> None:
    runs = plain_weeks(5) + plain_week(WEEK_OF_PLAIN_RUNS)
    runs[-1] |= {"needle_breaks": 1, "needle_parts_found": False}
    with book(tmp_path, runs) as store:
        answer = QUESTIONS["review"].asked(store, week=week)
    names = held_names(answer.result)
    assert names.startswith(f"{runs[-1]['run_ref']} of ")
    page = answer_page(answer)
    box = page[page.index('<div class="held">') :].split("</div>")[0]
    assert names in box
    assert BROKEN_NEEDLE_HELD in unescape(box)
    screen = Console(record=True, width=200)
    show_answer(screen, answer)
    told = screen.export_text().splitlines()
    assert told[1].startswith(f"HELD  {names}")


def test_every_finding_and_note_is_on_the_page(page: str, reviewed: Reviewed) -> None:
    result = reviewed.result
    text = unescape(page)
    assert result.charts
    wanted = [*reviewed.notes, *result.cautions, *(headline(chart) for chart in result.charts)]
    assert [words for words in wanted if words not in text] == []


def test_the_page_is_written_as_a_whole(reviewed: Reviewed, page: str, tmp_path: Path) -> None:
    out = tmp_path / "review.html"
    write_answer(out, reviewed)
    assert out.read_text(encoding="utf-8") == page
    assert list(tmp_path.iterdir()) == [out]


def test_a_page_that_cannot_be_written_is_refused_in_words(
    reviewed: Reviewed, tmp_path: Path
) -> None:
    taken = tmp_path / "taken"
    taken.mkdir()
    for out in (taken, tmp_path / "nowhere" / "review.html"):
        with pytest.raises(IntakeError, match="cannot be written") as refused:
            write_answer(out, reviewed)
        assert str(out) in refused.value.message
    assert list(tmp_path.iterdir()) == [taken]


def test_a_week_without_runs_makes_a_page_too(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as store:
        answer = QUESTIONS["review"].asked(store, week=WEEK)
    page = answer_page(answer)
    assert in_full(answer.result) in unescape(page)
    assert _elements(page).open == []
