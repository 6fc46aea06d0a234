"""Actions from the command line: written, ended, listed, and in the review."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result
from small_shop import WEEK, small_book
from typer.testing import CliRunner

from logbook.cli.app import application


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("actions") / "book"
    small_book(place).close()
    return place


def said(book: Path, *words: str) -> Result:
    return CliRunner().invoke(application, ["--book", str(book), *words], prog_name="logbook")


def answer(book: Path, *words: str) -> dict[str, Any]:
    done = said(book, *words, "--json")
    assert done.exit_code == 0, done.output
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_an_action_goes_from_written_to_done_and_is_reviewed(book: Path) -> None:
    assert "No action is written down." in said(book, "action", "list").output
    kept = answer(
        book, "action", "add", "Check the hoops", "--kind", "Puckering", "--who", "Ida",
        "--week", "2026-W38", "--supplier", "cedar",
    )  # fmt: skip
    assert (kept["action"], kept["kind"], kept["backing_supplier"], kept["state"]) == (
        "2026-W38-1",
        "puckering",
        "Cedar",
        "open",
    )
    ended = answer(book, "action", "done", "2026-W38-1", "--on", "2026-09-25")
    assert (ended["state"], ended["ended_on"]) == ("done", "2026-09-25")
    assert (
        "2026-W38-1  done  Check the hoops, by Ida, against puckering"
        in said(book, "action", "list").output
    )
    assert answer(book, "action", "list")["actions"] == [
        {name: value for name, value in ended.items() if name != "notes"}
    ]
    shown = said(book, "review", "--week", WEEK).output
    assert "Last actions, and whether they worked" in shown
    assert "these are comparisons, not trials" in " ".join(shown.split())
    (told,) = answer(book, "review", "--week", WEEK)["decided_actions"]
    assert told["outcome"]["worked"] == "more"


def test_by_when_and_against_what_is_said(book: Path) -> None:
    added = said(
        book, "action", "add", "Hoop again", "--kind", "hoop_marks", "--week", "2026-W38",
        "--due", "2026-W40",
    ).output  # fmt: skip
    line = "Hoop again, due by the end of 2026-W40, against hoop marks"
    assert line in added
    assert line in said(book, "action", "list").output


def test_the_week_is_the_last_with_runs_unless_told(book: Path) -> None:
    assert answer(book, "action", "add", "Sweep the floor")["decided"] == WEEK
    assert "This week's action" in said(book, "review").output


@pytest.mark.parametrize(
    ("words", "status"),
    [
        (["list", "more"], 2),
        (["add"], 2),
        (["done"], 2),
        (["done", "2026-W38-1", "--on", "yesterday"], 2),
        (["drop", "2026-W38-9", "--why", "x"], 1),
        (["add", "Oil it", "--kind", "wobbling"], 1),
        (["add", "Oil it", "--week", "40"], 1),
        (["add", "Oil it", "--machine", "M9"], 1),
    ],
)
def test_slips_are_said_and_keep_nothing(book: Path, words: list[str], status: int) -> None:
    before = answer(book, "action", "list")
    assert said(book, "action", *words).exit_code == status
    assert answer(book, "action", "list") == before


def test_dropping_needs_a_reason(book: Path) -> None:
    kept = answer(book, "action", "add", "Buy new frames")
    refused = said(book, "action", "drop", kept["action"])
    assert refused.exit_code == 1
    assert "say why it was dropped" in refused.output
    dropped = answer(book, "action", "drop", kept["action"], "--why", "too dear")
    assert (dropped["state"], dropped["why"]) == ("dropped", "too dear")
