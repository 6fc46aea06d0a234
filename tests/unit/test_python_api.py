"""The book from Python: what is exported, what it costs to import, and a book's whole day."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import date
from pathlib import Path

import polars as pl
import pytest
from typer.testing import CliRunner

import logbook
from logbook.cli.app import application
from logbook.errors import BookBusy, NoBook, ParameterError, RecordError

RUN = {"finished_at": "2026-03-02", "pieces_inspected": 40, "puckering": 2, "machine": "M1"}


@pytest.fixture
def book(tmp_path: Path) -> logbook.Book:
    with logbook.new_book(tmp_path / "book") as book:
        yield book


def test_these_names_are_exported_and_no_others() -> None:
    names = {"Book", "LogbookError", "__version__", "new_book", "open_book"}
    assert set(logbook.__all__) == set(dir(logbook)) == names
    assert all(getattr(logbook, name) for name in names)
    with pytest.raises(AttributeError, match="no attribute 'Store'"):
        logbook.Store  # noqa: B018 - asking for it is the test


def test_importing_it_loads_nothing_heavy() -> None:
    heavy = "{'polars', 'duckdb', 'pydantic', 'plotly', 'numpy'}"
    told = subprocess.run(
        [sys.executable, "-c", f"import sys, logbook; print({heavy} & set(sys.modules))"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert told.stdout.strip() == "set()"


def test_a_book_is_filled_asked_and_exported(book: logbook.Book, tmp_path: Path) -> None:
    added = [
        book.add(RUN | {"run_ref": f"R-{day}", "finished_at": date(2026, 3, day).isoformat()})
        for day in range(1, 29)
    ]
    assert all(each.added for each in added)
    assert not book.add(RUN, run_ref="R-2").added
    assert book.runs(since=date(2026, 3, 27), machine="M1")["run_ref"].to_list() == ["R-27", "R-28"]
    assert book.export(tmp_path / "runs.csv", until=date(2026, 3, 7)) == 7
    assert book.import_sheets(tmp_path / "runs.csv", dry_run=True).skipped == 7
    answer = book.ask("chart", defect="Puckering", by="week")
    assert "uckering" in answer.headline
    assert isinstance(answer.table(), pl.DataFrame)
    assert answer.figure() is not None
    assert answer.tables
    assert answer.headline in answer._repr_html_()


def test_an_answer_is_the_commands_own(book: logbook.Book) -> None:
    for day in range(1, 29):
        book.add(RUN, run_ref=f"R-{day}", finished_at=date(2026, 3, day).isoformat())
    answer = book.ask("chart", defect="puckering").as_json()
    place = book.store.place
    book.close()
    words = ["--book", place, "chart", "--defect", "puckering", "--json"]
    told = CliRunner().invoke(application, words, prog_name="logbook")
    assert json.loads(told.output) == answer


def test_slips_are_told_with_what_to_do(book: logbook.Book) -> None:
    with pytest.raises(ParameterError, match="no question 'charts'") as caught:
        book.ask("charts")
    assert "chart" in str(caught.value.hint)
    with pytest.raises(ParameterError):
        book.ask("chart", defect="puckering", colour="red")
    with pytest.raises(RecordError):
        book.add(pieces_inspected=3)


def test_a_book_is_opened_where_it_is_named_or_set(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    logbook.new_book(tmp_path / "book").close()
    monkeypatch.setenv("LOGBOOK_BOOK", str(tmp_path / "book"))
    with logbook.open_book() as book:
        assert repr(book) == f"Book({str(tmp_path / 'book')!r})"
    with pytest.raises(NoBook):
        logbook.open_book(tmp_path / "elsewhere")
    assert issubclass(BookBusy, logbook.LogbookError)
