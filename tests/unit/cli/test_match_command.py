"""`match` as a user meets it: what it says, what it keeps, and with which status it leaves."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from messy_sheets.styles_of_lists import undecided_dates
from messy_sheets.styles_with_titles import american_workbook
from typer.testing import CliRunner, Result

from logbook.cli.app import application
from logbook.store import new_book


@pytest.fixture
def book(tmp_path: Path) -> Path:
    new_book(str(tmp_path / "book")).close()
    return tmp_path / "book"


def run(book: Path, *words: str, given: str | None = None) -> Result:
    return CliRunner().invoke(application, ["--book", str(book), *words], input=given)


def answer(book: Path, *words: str, status: int = 0) -> dict[str, Any]:
    done = run(book, *words, "--json")
    assert done.exit_code == status, done.output
    told = json.loads(done.stdout)
    assert isinstance(told, dict)
    return told


def test_what_the_contract_promises(book: Path, tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    path.write_bytes(american_workbook().data)
    told = answer(book, "match", str(path))
    assert {
        "file",
        "sheet",
        "heading_row",
        "rows",
        "runs",
        "columns",
        "dates",
        "questions",
        "not_understood",
        "kept_as",
    } <= set(told)
    assert (told["sheet"], told["heading_row"], told["rows"], told["runs"]) == ("Log", 4, 40, 40)
    assert told["columns"][1].keys() == {"heading", "column", "confidence", "because"}
    assert told["dates"]["order"] == "month_first"
    assert told["dates"]["certain"] is True
    assert told["kept_as"] is None
    assert answer(book, "match", str(path), "--yes", "--as", "floor log")["kept_as"] == "floor log"
    assert answer(book, "import", str(path))["added"] == 40


def test_yes_does_not_settle_dates(book: Path, tmp_path: Path) -> None:
    path = tmp_path / "march.csv"
    path.write_bytes(undecided_dates().data)
    told = answer(book, "match", str(path), "--yes", status=1)
    assert told["dates"]["certain"] is False
    assert [question["id"] for question in told["questions"]] == ["dates"]
    assert told["kept_as"] is None
    told = answer(book, "match", str(path), "--yes", "--answer", "dates=day_first")
    assert (told["kept_as"], told["dates"]["certain"]) == ("march", True)


def test_in_words_and_pasted(book: Path) -> None:
    block = "Datum\tMaschine\tStück\tAusschuss\tGrund\n30.10.2025\tM1\t24\t1\t1x schief\n"
    done = run(book, "match", "-", given=block)
    assert done.exit_code == 0, done.output
    assert "misplacement=1" in done.stdout
    assert "Not kept yet" in done.stdout


def test_slips_are_told(book: Path, tmp_path: Path) -> None:
    assert run(book, "match", str(tmp_path / "nothing.csv")).exit_code == 1
    path = tmp_path / "a.txt"
    path.write_text("dear all,\nsee you on Friday\n", encoding="utf-8")
    assert "No row of a.txt" in run(book, "match", str(path)).stderr
    assert run(book, "match", str(path), "--answer", "dates").exit_code == 2


def test_an_import_ends_with_what_can_be_answered(book: Path, tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    path.write_bytes(american_workbook().data)
    assert run(book, "match", str(path), "--yes").exit_code == 0
    dry = run(book, "import", str(path), "--dry-run").output
    assert "The book has" not in dry
    done = run(book, "import", str(path)).output
    assert "The book has 40 runs of 1 Oct 2025 to 28 Oct 2025" in done
    assert "One column would help most: Backing supplier." in done
    assert "The book has" not in run(book, "import", str(path)).output
