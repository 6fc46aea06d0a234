"""What an order will lose: asked of books, and of orders that the record then went on to sew."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from small_shop import small_book

from logbook.adjusted_comparison import CELLS_BY, fit_kinds, outlook
from logbook.errors import ParameterError, TooLittleData
from logbook.kernels.predictive_counts import count_probabilities, share_of
from logbook.questions.advice.job import SETUP
from logbook.questions.answer import Answer
from logbook.questions.forecast import QUESTION, words
from logbook.questions.forecast.analyse import REWORKED, SPOILED
from logbook.questions.forecast.result import ForecastResult
from logbook.runs.columns import run_schema
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore

TOWEL, POLO = "terry towel", "pique polo"
LEARNT, TOLD = 0.6, 0.3
"""Shares of the sample year to learn from, and to tell ahead of."""


@pytest.fixture(scope="module")
def hundred(year: DuckStore) -> Answer[ForecastResult]:
    return QUESTION.asked(year, fabric=POLO, pieces=100)


def test_more_is_lost_of_more_and_the_order_grows(
    year: DuckStore, hundred: Answer[ForecastResult]
) -> None:
    few, many = hundred.result, QUESTION.asked(year, fabric=POLO, pieces=2400).result
    assert few.order is not None
    assert many.order is not None
    assert 100 <= few.order < 106
    assert 2400 < many.order < 2600
    assert many.lost.expected == pytest.approx(few.lost.expected * many.order / few.order, rel=0.1)
    assert many.minutes == pytest.approx(few.minutes * many.order / few.order)
    assert many.lost.lower <= many.lost.expected <= many.lost.upper


def test_a_setup_that_spoils_more_is_told_so(year: DuckStore) -> None:
    bare, filmed = (
        QUESTION.asked(year, fabric=TOWEL, pieces=500, topping=topping).result
        for topping in ("none", "water_soluble_film")
    )
    sunk = [
        next(each.count.expected for each in one.kinds if each.kind.name == "sinking")
        for one in (bare, filmed)
    ]
    assert sunk[0] > 2 * sunk[1]


def test_a_known_design_narrows_what_is_told(year: DuckStore) -> None:
    worn = year.totals(by=("fabric", "design")).filter(pl.col("fabric") == POLO)
    design = worn.sort("runs", descending=True)["design"][0]
    result = QUESTION.asked(year, fabric=POLO, pieces=300, design=design).result
    assert result.design_runs > 0
    assert design in words.title(result)


def test_orders_that_were_sewn_later_lie_where_they_were_told(year: DuckStore) -> None:
    """Nine in ten jobs of the later part lie within 90 %, luck within a count drawn at random."""
    totals = year.totals(by=("job", *CELLS_BY)).with_columns(pl.col(CELLS_BY).cast(pl.String))
    days = totals["day"].unique().sort()
    learnt_until, told_until = (days[int(days.len() * at)] for at in (LEARNT, LEARNT + TOLD))
    generator = np.random.default_rng(20261128)
    for kind in (SPOILED, REWORKED):
        told = totals.filter(pl.col(kind.name).is_not_null()).select(
            pl.lit(kind.name).alias("kind"),
            "job",
            *CELLS_BY,
            "runs",
            exposure="pieces_sewn",
            count=kind.name,
        )
        [fitted] = fit_kinds(told.filter(pl.col("day") < learnt_until), kinds=[kind])
        later = told.filter(pl.col("day") >= learnt_until, pl.col("day") < told_until)
        places, expected, seen = [], 0.0, 0
        for _, job in later.group_by("job"):
            first = job.row(0, named=True)
            setup = {
                name: first[name]
                for name in ("fabric", "design", "fabric_shade", *SETUP)
                if first[name] is not None
            }
            ahead = outlook(fitted, job=setup, runs=job.height)
            pieces, count = int(job["exposure"].sum()), int(job["count"].sum())
            share = share_of(mean=ahead.rate, variance=ahead.variance)
            chances = count_probabilities(pieces=pieces, share=share, up_to=count)
            places.append(chances[:-1].sum() + generator.random() * chances[-1])
            expected += pieces * ahead.rate
            seen += count
        held = np.mean([0.05 <= each <= 0.95 for each in places])
        assert len(places) > 300
        assert 0.86 <= held <= 0.94
        assert seen == pytest.approx(expected, rel=0.25)


def test_it_says_what_it_rests_on_and_what_was_taken_as_usual(
    year: DuckStore, hundred: Answer[ForecastResult]
) -> None:
    answer = hundred
    assert answer.headline.startswith("Order 1")
    assert "pieces inspected on pique polo" in answer.sentences[-1]
    assert any("taken as is usual" in each for each in answer.notes)
    told = answer.as_json()
    assert told["rests_on"]["runs"] == answer.result.runs
    assert {each["kind"] for each in told["kinds"]} <= {each.name for each in year.shop.kinds}


def test_too_little_spoiled_is_told_by_the_whole_record(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as store:
        _logged(store, spoiled=0)
        result = QUESTION.asked(store, fabric="twill", pieces=100).result
        assert not result.modelled
        assert result.order in (100, 101, 102)
        assert any("too few pieces" in each.lower() for each in words.notes(result))
        assert words.pressing(result) == ("It rests on 4 runs on this fabric only.",)


def test_without_spoilage_on_record_nothing_is_told(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as store:
        _logged(store, spoiled=None)
        with pytest.raises(TooLittleData, match="spoiled"):
            QUESTION.asked(store, fabric="twill", pieces=100)


def test_where_all_is_spoiled_no_number_is_enough(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as store:
        _logged(store, spoiled=30)
        answer = QUESTION.asked(store, fabric="twill", pieces=100)
        assert answer.result.order is None
        assert "change the setup first" in answer.headline
        assert answer.figure() is not None


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"pieces": 0}, "pieces"),
        ({"pieces": "many"}, "pieces"),
        ({"pieces": 10, "colour": "red"}, "colour"),
        ({"pieces": 10, "design": "x", "density": 4}, "design or density"),
    ],
)
def test_what_cannot_be_asked(year: DuckStore, asked: dict[str, object], says: str) -> None:
    with pytest.raises(ParameterError, match=says):
        QUESTION.asked(year, fabric=POLO, **asked)


def test_a_page_asks_for_the_pieces_first() -> None:
    lacking = QUESTION.parameters.lacking
    assert lacking({"fabric": POLO}) == "Say how many good pieces the order must deliver."
    assert lacking({"fabric": POLO, "pieces": 10}) == ""


def test_times_are_told_in_minutes_then_hours(tmp_path: Path) -> None:
    assert [words.duration(each) for each in (1.2, 119, 120, 1558)] == [
        "1 minute",
        "119 minutes",
        "2 h 00 min",
        "25 h 58 min",
    ]
    with small_book(tmp_path / "book") as store:
        fabric = store.known("fabric")[0]
        result = QUESTION.asked(store, fabric=fabric, pieces=10).result
        assert "sewing" not in words.headline(result)
        assert "sewing" in words.headline(replace(result, minutes=45.0))


def _logged(store: DuckStore, *, spoiled: int | None) -> None:
    schema = run_schema(store.shop.own)
    runs = [
        {
            "run_ref": f"R-{number}",
            "finished_at": datetime(2026, 9, 1) + timedelta(days=number),
            "fabric": "twill",
            "backing": "tear_away",
            "pieces_sewn": 30,
            "pieces_inspected": 30,
            "pieces_spoiled": spoiled,
            "puckering": number % 2,
        }
        for number in range(4)
    ]
    frame = pl.DataFrame([dict.fromkeys(schema) | run for run in runs], schema=schema)
    store.put(frame, source="test")
