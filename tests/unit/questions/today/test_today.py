"""How things stand, on books whose figures can be worked out by hand."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from logbook.book.actions import write_action
from logbook.book.runs import log_run, now_at
from logbook.calendar_weeks import iso_week
from logbook.questions.answer import Answer
from logbook.questions.today import QUESTION
from logbook.runs.actions import DecidedAction
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore

COSTS = """
[costs]
piece_value = 10.0
"""
WEEKS_BACK = 12


def logged(store: DuckStore, moment: datetime, **given: Any) -> None:
    whole = {"pieces_sewn": 100, "pieces_inspected": 100, "stitches_per_piece": 10_000, **given}
    log_run(store, {"finished_at": moment, **whole}, source="test")


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DuckStore]:
    """Twelve even weeks, then one (over) in which ten times as much was spoiled."""
    place = tmp_path_factory.mktemp("today") / "book"
    with new_book(str(place), settings=COSTS) as store:
        monday = now_at(store).replace(hour=12, minute=0, second=0, microsecond=0)
        monday -= timedelta(days=monday.weekday() + 7)
        for back in range(WEEKS_BACK, 0, -1):
            wrong = {"puckering": 2, "pieces_spoiled": 1, "thread_breaks": 10 + back % 2}
            logged(store, monday - timedelta(weeks=back), machine="M1", **wrong)
        bad = {"puckering": 20, "pieces_spoiled": 10, "thread_breaks": 10, "job": "J9"}
        logged(store, monday, machine="M2", **bad)
        needle = {"needle_breaks": 1, "needle_parts_found": False, "puckering": 2}
        logged(store, monday + timedelta(hours=1), machine="M1", pieces_spoiled=0, **needle)
        action = DecidedAction("Try the finer mesh", iso_week(monday.date()), by="Ada")
        write_action(store, action, source="test")
        yield store


@pytest.fixture(scope="module")
def answer(book: DuckStore) -> Answer[Any]:
    return QUESTION.answer(book, QUESTION.parsed({}))


def test_what_waits_is_named_held_runs_first(answer: Answer[Any]) -> None:
    held, action = answer.result.needs
    assert (held.sort, action.sort) == ("held", "action")
    assert held.says.startswith("Held: not every part of a broken needle was found on M1, ")
    assert action.says == "Try the finer mesh, Ada"
    assert answer.headline.startswith("1 run is held, 1 action open. Week of ")


def test_rates_are_judged_by_their_control_chart(answer: Answer[Any]) -> None:
    courses = {each.name: each for each in answer.result.courses}
    assert list(courses) == ["pieces", "any", "money", "thread_breaks"]
    assert courses["any"].values[-1] == pytest.approx(22 / 200)
    assert courses["any"].stands == "above"
    assert courses["thread_breaks"].stands == "usual"


def test_money_is_judged_by_where_nine_in_ten_weeks_lay(answer: Answer[Any]) -> None:
    [money] = [each for each in answer.result.courses if each.name == "money"]
    # A spoiled piece is 10; breaks cost a standstill too, the same in every other week.
    assert money.usual is not None
    assert money.values[-1] > money.usual[1] + 50
    assert money.stands == "above"


def test_each_machine_shows_its_last_run(answer: Answer[Any]) -> None:
    first, second = answer.result.machines
    assert (first.machine, first.pieces_defective) == ("M1", 2)
    assert (second.machine, second.job, second.pieces_defective) == ("M2", "J9", 20)


def test_every_face_has_it(answer: Answer[Any]) -> None:
    told = answer.as_json()
    assert len(told["courses"][0]["weeks"]) == len(told["courses"][0]["values"]) == 27
    assert len(answer.headline.split()) <= 25
    figure = answer.figure()
    assert figure is not None
    assert {trace.yaxis for trace in figure.data} == {"y", "y2", "y3", "y4"}


def test_an_empty_book_is_answered(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as store:
        empty = QUESTION.answer(store, QUESTION.parsed({}))
    assert empty.headline == "No runs yet: log the first one, or bring in a sheet."
    assert empty.tables == ()
    assert empty.as_json()["week"] is None
