from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest
from logged_runs import book_of_one
from streamlit.testing.v1 import AppTest

from dashboards.shared import column_of, day_words, kind_label, moment_words, value_words
from logbook import service


def test_values_are_said_with_labels_and_units() -> None:
    assert value_words(column_of("backing"), "tear_away") == "Tear-away"
    assert value_words(column_of("backing_gsm"), 60.0) == "60 g/m²"
    assert value_words(column_of("fabric_sheer"), False) == "No"
    assert value_words(column_of("notes"), None) == "not recorded"
    assert kind_label("any") == "Any defect"
    assert kind_label("hoop_marks") == "Hoop marks"


def test_days_are_said_as_people_say_them() -> None:
    assert day_words(date(2026, 10, 5)) == "Mon 5 Oct 2026"
    assert moment_words(datetime(2026, 10, 5, 9, 5)) == "Mon 5 Oct 2026, 09:05"


def test_without_a_book_the_page_says_what_to_do(
    app: AppTest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LOGBOOK_BOOK", str(tmp_path / "nowhere"))
    app.run()
    assert not app.exception
    (said,) = app.info
    assert "There is no book at" in said.value
    assert "logbook new" in said.value


def test_without_the_service_the_pages_open_the_book_that_is_named(
    app: AppTest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    book_of_one(tmp_path / "book").close()
    monkeypatch.setenv("LOGBOOK_BOOK", str(tmp_path / "book"))
    app.run()
    assert not app.exception
    assert service.the_book().count() == 1
    service.close_book()
