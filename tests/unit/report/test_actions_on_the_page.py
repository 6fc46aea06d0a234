"""Actions and photos on the page of a review: escaped, self-contained, said as the result says."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from html import unescape
from html.parser import HTMLParser
from io import BytesIO

import pytest
from PIL import Image
from small_shop import SCRIPT, WEEK, small_book

from logbook.book.actions import end_action, write_action
from logbook.book.photos import keep_picture, picture_of
from logbook.questions import QUESTIONS
from logbook.questions.control.words import READING
from logbook.questions.review.decided import NOT_A_TRIAL
from logbook.report import answer_page
from logbook.runs.actions import DecidedAction

WHAT = f"Hoop again {SCRIPT} <img src=x onerror=alert(1)>"
WHY = f'they said "yes" & went {SCRIPT}'
WHO = f"Ida {SCRIPT}"


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, str]]:
    """The page before anything is decided, and after."""
    with small_book(tmp_path_factory.mktemp("decided") / "book") as store:
        answer = QUESTIONS["review"].asked(store, week=WEEK)
        before = answer_page(answer)
        earlier = DecidedAction(WHAT, "2026-W38", by=WHO, kind="puckering")
        kept = write_action(store, earlier, source="test")
        end_action(store, kept, state="done", why=WHY, source="test", on=date(2026, 9, 25))
        write_action(store, DecidedAction(f"Now {WHAT}", WEEK, by=WHO), source="test")
        drawn = BytesIO()
        Image.new("RGB", (800, 600), "#884422").save(drawn, format="JPEG")
        for run in answer.result.look_at:
            keep_picture(store, run.run_ref, picture_of(drawn.getvalue()), "puckering")
        yield before, answer_page(QUESTIONS["review"].asked(store, week=WEEK))


class _Pictures(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.sources: list[str] = []
        self.names: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.add(tag)
        self.sources += [value or "" for name, value in attrs if name == "src"]
        assert not [name for name, _ in attrs if name.startswith("on")]


def test_text_of_actions_never_acts(pages: tuple[str, str]) -> None:
    page = pages[1]
    found = _Pictures()
    found.feed(page)
    assert "script" not in found.names
    for text in (WHAT, WHY, WHO):
        assert text not in page
        assert text in unescape(page)


def test_what_was_decided_stands_with_what_came_of_it(pages: tuple[str, str]) -> None:
    text = unescape(pages[1])
    assert "Done on 25 September 2026: they said" in text
    assert "Puckering: 3.0 % before (" in text
    assert "more by 22.0 in 100 pieces" in text
    assert NOT_A_TRIAL in text
    assert '<div class="lines">' not in text


def test_without_an_action_there_are_lines_to_write_on(pages: tuple[str, str]) -> None:
    text = unescape(pages[0])
    assert "No action of an earlier week is written down." in text
    assert '<div class="lines"></div>' in text
    assert NOT_A_TRIAL not in text


def test_photos_are_within_the_page(pages: tuple[str, str]) -> None:
    assert "<img" not in pages[0]
    found = _Pictures()
    found.feed(pages[1])
    assert found.sources
    assert all(source.startswith("data:image/jpeg;base64,") for source in found.sources)


def test_every_signal_is_said_in_words(pages: tuple[str, str]) -> None:
    text = unescape(pages[0])
    assert READING in text
    assert f"Week {WEEK}: 75 of 300 pieces inspected (25.0 %), above the limit of" in text
