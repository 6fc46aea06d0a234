"""Trials from the command line: plan, start, judge, end, list, and the card."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result
from trial_shop import load_of, towel_book
from typer.testing import CliRunner

from logbook.book.runs import log_run
from logbook.cli.app import application
from logbook.store import open_book


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("trying") / "book"
    towel_book(place).close()
    return place


def said(book: Path, *words: str) -> Result:
    return CliRunner().invoke(application, ["--book", str(book), *words], prog_name="logbook")


def answer(book: Path, *words: str) -> dict[str, Any]:
    done = said(book, *words, "--json")
    assert done.exit_code == 0, done.output
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_a_trial_goes_from_plan_to_verdict(book: Path, tmp_path: Path) -> None:
    assert "No trial is kept" in said(book, "trial", "list").output
    card = tmp_path / "card.html"
    planned = answer(
        book, "trial", "plan", "topping", "none", "film", "--fabric", "terry towel",
        "--smallest", "6", "--pieces", "50", "--seed", "1", "--html", str(card),
        "--address", "http://shop.local:8600",
    )  # fmt: skip
    assert {"arms", "pieces_per_arm", "pairs", "power", "alpha", "smallest_difference",
            "instructions"} <= set(planned)  # fmt: skip
    assert planned["trial"] == "T1"
    assert "http://shop.local:8600/log?trial=T1" in card.read_text()
    assert answer(book, "trial", "start")["state"] == "running"
    with open_book(str(book)) as store:
        number = 0
        for first in planned["kept"]["order"]:
            for arm in (first, "changed" if first == "as now" else "as now"):
                sunk = 5 + number % 3 if arm == "as now" else number % 2
                log_run(store, load_of(arm, number, sunk=sunk), source="test")
                number += 1
    told = answer(book, "trial", "judge")
    assert {"difference", "interval", "p_value", "verdict", "runs", "pieces"} <= set(told)
    assert (told["verdict"], told["decision"]) == ("better", "take")
    assert "Take it" in said(book, "trial", "judge", "T1").output
    ended = answer(book, "trial", "end", "T1", "--why", "clear enough")
    assert (ended["state"], ended["why"]) == ("ended", "clear enough")
    assert "T1  ended" in said(book, "trial", "list").output
    [listed] = answer(book, "trial", "list")["trials"]
    assert listed["state"] == "ended"


def test_what_cannot_be_planned_is_wrong_usage(book: Path) -> None:
    for words, says in (
        (("topping", "none"), "FACTOR FROM TO"),
        (("topping", "none", "film"), "fabric"),
        (("weather", "wet", "dry", "--fabric", "terry towel"), "no part of a setup"),
    ):
        done = said(book, "trial", "plan", *words)
        assert done.exit_code == 2, done.output
        assert says in done.output


def test_nothing_is_kept_where_nothing_was_to_be(book: Path) -> None:
    before = len(answer(book, "trial", "list")["trials"])
    tried = answer(
        book, "trial", "plan", "topping", "none", "film", "--fabric", "terry towel", "--dry-run"
    )
    assert tried["trial"] is None
    small = answer(
        book, "trial", "plan", "topping", "none", "film", "--fabric", "terry towel",
        "--smallest", "0.1",
    )  # fmt: skip
    assert (small["decides"], small["trial"]) == (False, None)
    assert len(answer(book, "trial", "list")["trials"]) == before
    assert "What can be learnt" in small["finding"]


def test_an_unknown_trial_is_named(book: Path) -> None:
    done = said(book, "trial", "judge", "T99")
    assert done.exit_code == 1
    assert "T99" in done.output
