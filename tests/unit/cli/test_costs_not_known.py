"""A cost that nobody can know is said to be not known, with the reason; never as nothing."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from logbook.book.runs import log_run
from logbook.cli.app import application
from logbook.short_figures import money_or_not_known
from logbook.store import new_book

PIECE = "[costs]\npiece_value = 12.0\n"
PRICES = '[[price]]\nsupplier = "Alder"\nbacking = "cut_away"\nper_m2 = 1.0\n'


def _book(place: Path, *runs: dict[str, Any], settings: str = "") -> Path:
    usual = {
        "finished_at": "2026-10-06",
        "fabric": "pique polo",
        "backing": "cut_away",
        "pieces_sewn": 60,
        "pieces_inspected": 60,
        "pieces_defective": 2,
    }
    with new_book(str(place), settings=settings) as store:
        for number, each in enumerate(runs):
            log_run(store, {**usual, "run_ref": f"R-{number}", **each}, source="test")
    return place


def _said(book: Path, *words: str) -> str:
    done = CliRunner().invoke(application, ["--book", str(book), *words], prog_name="logbook")
    assert done.exit_code == 0, done.output
    return done.stdout


def _costs(book: Path) -> tuple[dict[str, float | None], list[str]]:
    told = json.loads(_said(book, "review", "--json"))
    return {each["kind"]: each["cost"] for each in told["defects"]}, told["notes"]


def _row(table: str, label: str) -> str:
    [row] = [line for line in table.splitlines() if line.startswith(label)]
    return row


def test_a_kind_whose_runs_recorded_no_loss_has_no_known_cost(tmp_path: Path) -> None:
    book = _book(
        tmp_path / "book",
        {"puckering": 2, "gaps": 0, "pieces_spoiled": 1},
        {"puckering": 0, "gaps": 2},
        {"puckering": 1, "gaps": 1},
        settings=PIECE,
    )
    shown = _said(book, "review")
    assert _row(shown, "Gaps between areas").endswith("not known")
    assert _row(shown, "Puckering").split()[-1] == "12.00"
    words = " ".join(shown.split())
    assert words.count("Not known what it cost: Gaps between areas. No run that counted it") == 1
    costs, notes = _costs(book)
    assert costs["gaps"] is None
    assert costs["puckering"] == pytest.approx(12.0)
    assert sum("Not known what it cost" in note for note in notes) == 1


def test_a_loss_that_was_recorded_as_none_is_nothing(tmp_path: Path) -> None:
    book = _book(
        tmp_path / "book",
        {"puckering": 2, "gaps": 0, "pieces_spoiled": 1},
        {"puckering": 0, "gaps": 2, "pieces_spoiled": 0},
        {"puckering": 0, "gaps": 0},
    )
    shown = _said(book, "review")
    assert _row(shown, "Gaps between areas").split()[-1] == "0.00"
    assert "ot known" not in shown
    costs, _ = _costs(book)
    assert costs["gaps"] == 0.0


def test_where_no_loss_is_recorded_at_all_the_reason_is_said_once(tmp_path: Path) -> None:
    book = _book(tmp_path / "book", {"puckering": 2, "gaps": 1}, {"puckering": 1, "gaps": 0})
    shown = " ".join(_said(book, "review").split())
    assert "0.00" not in shown
    assert shown.count("Nobody recorded what was spoiled or reworked") == 1
    assert "Not known what it cost" not in shown
    costs, notes = _costs(book)
    assert costs == {"puckering": None, "gaps": None}
    assert any("Nobody recorded" in note for note in notes)


def test_a_supplier_without_a_price_has_no_known_cost(tmp_path: Path) -> None:
    runs = [
        {"backing_supplier": name, "puckering": 2, "pieces_spoiled": 1}
        for name in ("Alder", "Birch")
    ]
    book = _book(tmp_path / "book", *runs, settings=PRICES)
    shown = _said(book, "suppliers", "--backing", "cut_away")
    assert _row(shown, "Birch").endswith("not known")
    assert not _row(shown, "Alder").endswith("not known")
    assert " ".join(shown.split()).count("no price is known of Birch's cut-away") == 1
    told = json.loads(_said(book, "suppliers", "--backing", "cut_away", "--json"))
    costs = {each["supplier"]: each["cost_per_good_piece"] for each in told["suppliers"]}
    assert costs["Birch"] is None
    assert costs["Alder"] > 0
    assert any("no price is known of Birch's" in note for note in told["notes"])


def test_an_amount_is_said_or_not_known_or_not_asked_for() -> None:
    assert money_or_not_known(0.0) == "0.00"
    assert money_or_not_known(1234.5) == "1,234.50"
    assert money_or_not_known(math.nan) == "not known"
    assert money_or_not_known(None) == "–"
