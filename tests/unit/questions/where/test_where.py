"""Levels held against what was to be expected: a small book worked out by hand, and the year."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from logbook.book.runs import log_run
from logbook.errors import ParameterError, TooLittleData
from logbook.questions import QUESTIONS
from logbook.questions.answer import Answer
from logbook.questions.where import QUESTION
from logbook.questions.where.result import Level, WhereResult
from logbook.report import answer_page
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore

SETTINGS = """
[costs]
piece_value = 10.0
labour_minute = 0.5
machine_hour = 30.0

[allowances]
usual = 0.05
"Mill Rowing" = 0.01

[columns]
wash = "Wash batch"
"""
FIRST = datetime(2026, 9, 1, 12)
M1_RUNS: tuple[dict[str, Any], ...] = (
    {"puckering": 3, "pieces_spoiled": 2, "rework_minutes": 0, "customer": "Mill Rowing"},
    {"puckering": 0, "pieces_spoiled": 0, "rework_minutes": 0, "run_minutes": 50, "wash": "W1"},
)
M2_RUNS: tuple[dict[str, Any], ...] = (
    {"puckering": 2, "pieces_spoiled": 0, "rework_minutes": 30, "customer": "Mill Rowing"},
    {"puckering": 0, "customer": "Harbour Café"},
)


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DuckStore]:
    place = tmp_path_factory.mktemp("where") / "book"
    with new_book(str(place), settings=SETTINGS) as store:
        runs = [
            *({"machine": "M1", **each} for each in M1_RUNS),
            *({"machine": "M2", **each} for each in M2_RUNS),
            {"machine": "M3", "puckering": 4},
        ]
        for day, run in enumerate(runs):
            whole = {"pieces_sewn": 50, "pieces_inspected": 50, "stitches_per_piece": 4000, **run}
            log_run(store, {"finished_at": FIRST + timedelta(day), **whole}, source="test")
        yield store


def asked(store: DuckStore, **given: Any) -> Answer[WhereResult]:
    answer: Answer[WhereResult] = QUESTION.asked(store, **given)
    return answer


def levels(store: DuckStore, **given: Any) -> dict[Any, Level]:
    found = asked(store, **given).result.levels
    return {next(iter(each.level.values())): each for each in found}


def test_what_was_paid_is_added_up_level_by_level(book: DuckStore) -> None:
    found = levels(book, by="machine")
    assert found["M1"].money == pytest.approx(20.0)  # two pieces at 10
    assert found["M2"].money == pytest.approx(15.0)  # thirty minutes at 0.50
    assert found["M1"].share_of_money == pytest.approx(20 / 35)
    total = asked(book, by="machine").result.total
    assert total.money == pytest.approx(35.0)
    assert sum(each.expected for each in found.values()) == pytest.approx(total.expected)
    assert total.expected == pytest.approx(35.0)


def test_counts_of_a_kind_and_what_cannot_be_costed(book: DuckStore) -> None:
    answer = asked(book, defect="puckering", by="machine")
    found = levels(book, defect="puckering", by="machine")
    assert {name: each.observed for name, each in found.items()} == {"M1": 3, "M2": 2, "M3": 4}
    assert sum(each.expected for each in found.values()) == pytest.approx(9.0)
    assert math.isnan(found["M3"].money)
    assert any("4 defective pieces are of runs" in note for note in answer.notes)
    [row] = [each for each in answer.as_json()["levels"] if each["level"] == {"machine": "M3"}]
    assert row["money"] is None
    # What is asked by is no excuse: three machines of like work were expected to be alike.
    assert found["M3"].ratio > 1.5 > found["M3"].shrunk_ratio > 1.0
    assert found["M3"].interval[0] < found["M3"].ratio


def test_spoilage_stands_against_what_the_customer_allows(book: DuckStore) -> None:
    found = levels(book, by="customer")
    rowing = found["Mill Rowing"].spoilage
    assert rowing is not None
    assert (rowing.pieces_sewn, rowing.spoiled, rowing.allowed) == (100, 2, 0.01)
    assert rowing.over == pytest.approx(1.0)
    assert rowing.interval[0] < 0.02 < rowing.interval[1]
    assert found["Harbour Café"].spoilage is None, "nobody wrote down what was spoiled"
    captions = [each.caption for each in asked(book, by="customer").tables]
    assert captions[1].startswith("Spoiled against what is allowed")


def test_a_thousand_stitches_cost_machine_people_and_losses(book: DuckStore) -> None:
    """50 minutes at 0.50 + 30/60 over 200,000 stitches, nothing lost: 0.25."""
    assert levels(book, by="wash")["W1"].cost_per_1000_stitches == pytest.approx(0.25)
    assert math.isnan(levels(book, by="machine")["M3"].cost_per_1000_stitches)


def test_columns_of_the_shop_are_asked_by_and_named_as_it_names_them(book: DuckStore) -> None:
    assert asked(book, by="Wash batch").result.by == ("wash",)
    assert {each.name for each in asked(book, by="wash").result.levels} == {
        "Wash batch W1",
        "Wash batch not recorded",
    }


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"by": "colour"}, "'colour' is no column to group by"),
        ({"by": "fabric,backing,machine"}, "names 3 columns; 2 can be crossed"),
        ({"defect": "puckring"}, "puckring"),
    ],
)
def test_what_cannot_be_asked_is_refused(book: DuckStore, given: dict[str, str], says: str) -> None:
    with pytest.raises(ParameterError, match=says):
        asked(book, **given)


def test_nothing_counted_is_said(book: DuckStore) -> None:
    with pytest.raises(TooLittleData, match="Nothing of what is asked about"):
        asked(book, defect="gaps", by="machine")
    with pytest.raises(TooLittleData):
        asked(book, by="machine", since="2031-01-01")


def test_a_book_of_one_level_is_answered_in_words(book: DuckStore) -> None:
    answer = asked(book, defect="puckering", by="fabric")
    assert answer.headline.startswith("No fabric stands out")
    assert answer.further_figures == ()
    nothing = asked(book, defect="puckering")
    assert nothing.headline.startswith("Nothing stands out")
    assert nothing.tables == ()
    assert "Nothing stands out" in answer_page(nothing)


def test_the_bad_lot_is_named_first_in_its_second_week(year: DuckStore) -> None:
    """Lot A2431 was planted with six times the odds of gaps, 2026-W09 to W12."""
    answer = asked(year, defect="gaps", by="backing_lot", since="2026-02-23", until="2026-03-08")
    first = answer.result.levels[0]
    assert first.level == {"backing_lot": "A2431"}
    assert first.above
    assert answer.headline.startswith("Backing lot A2431 shows")
    assert "EUR" in answer.headline
    link = answer.tables[0].rows[0][0].address
    assert link.startswith("runs?backing_lot=A2431&since=2026-02-23&until=2026-03-08")


def test_the_bad_lot_of_the_last_week_is_named_and_the_worn_hoop(year: DuckStore) -> None:
    """Planted in 2026-W46: lot C3188 odds times 9, M2's worn hoop odds times 5."""
    week = {"defect": "gaps", "since": "2026-11-09", "until": "2026-11-15"}
    assert levels(year, by="backing_lot", **week)["C3188"].interval[0] > 2
    assert asked(year, by="backing_lot", **week).result.levels[0].level["backing_lot"] == "C3188"
    assert asked(year, by="machine", **week).result.levels[0].level["machine"] == "M2 six-head"


def test_the_wearing_machine_is_named(year: DuckStore) -> None:
    """Thread breaks of M3 were planted to rise by 7.8 % a week from 2026-W33."""
    result = asked(year, defect="thread_breaks", by="machine", since="2026-08-10").result
    first = result.levels[0]
    assert first.level == {"machine": "M3 four-head"}
    assert first.interval[0] > 1.3
    assert result.total.observed == sum(each.observed for each in result.levels)


def test_film_is_among_the_best_that_money_can_say(year: DuckStore) -> None:
    """Odds of sinking under film were planted at 0.18."""
    found = levels(year, defect="sinking", by="topping")
    assert found["water_soluble_film"].below
    assert found["water_soluble_film"].shrunk_ratio < 0.5


def test_money_is_that_of_the_costs(year: DuckStore) -> None:
    """The same sum by another way: kinds costed over cells (``costs``)."""
    costs = QUESTIONS["costs"].asked(year).result.costed.total_cost
    assert asked(year, by="fabric,backing").result.total.money == pytest.approx(costs)


def test_two_columns_are_crossed(year: DuckStore) -> None:
    crossed = asked(year, defect="any", by="fabric", and_by="backing").result
    assert crossed.by == ("fabric", "backing")
    assert set(crossed.levels[0].level) == {"fabric", "backing"}
    by_fabric = sum(e.observed for e in crossed.levels if e.level["fabric"] == "terry towel")
    assert by_fabric == levels(year, defect="any", by="fabric")["terry towel"].observed


def test_every_column_is_gone_through_where_none_is_named(year: DuckStore) -> None:
    week = {"defect": "gaps", "since": "2026-11-09", "until": "2026-11-15"}
    result = asked(year, **week).result
    assert result.by == ()
    named = [each.level for each in result.levels]
    assert {"backing_lot": "C3188"} in named
    assert all(each.above or each.below for each in result.levels)


def test_the_fields_are_those_of_the_contract(year: DuckStore) -> None:
    told = asked(year, defect="gaps", by="machine").as_json()
    assert {"defect", "by", "from", "to", "levels", "total"} <= set(told)
    named = {"level", "runs", "pieces_inspected", "observed", "expected", "ratio", "shrunk_ratio"}
    named |= {"interval", "chance_above", "money", "money_expected", "share_of_money"}
    assert named <= set(told["levels"][0])
    assert (told["from"], told["to"]) == ("2025-11-17", "2026-11-13")
    assert sum(each["share_of_money"] for each in told["levels"]) == pytest.approx(1.0)


def test_small_levels_are_gathered_and_none_is_lost(year: DuckStore) -> None:
    answer = asked(year, defect="gaps", by="job")
    rows = answer.tables[0].rows
    assert len(rows) == 31
    assert rows[-1][0].words.endswith("others together")
    runs = sum(int(row[1].words.replace(",", "")) for row in rows)
    assert runs == answer.result.total.runs
    assert answer.table().height == len(answer.result.levels)


def test_both_pictures_are_drawn_on_paper_too(year: DuckStore) -> None:
    answer = asked(year, defect="gaps", by="backing_lot", until="2026-03-15")
    figure = answer.figure()
    assert figure is not None
    assert "A2431" in figure.layout.annotations[0].text
    [draw] = answer.further_figures
    assert {"above", "as expected"} <= {trace.name for trace in draw(answer.result).data}
    page = answer_page(answer)
    assert page.count("<svg") >= 2
    assert "<a href" not in page


def test_money_that_nobody_wrote_down_is_no_question_to_answer(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as store:
        run = {"finished_at": FIRST, "machine": "M1", "pieces_sewn": 24, "puckering": 2}
        log_run(store, run, source="test")
        with pytest.raises(TooLittleData, match="no run with what is asked about says"):
            QUESTION.asked(store)
