"""What holds for every weekly review, whatever was counted."""

import json
from datetime import datetime

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.calendar_weeks import days_of, weeks_before
from logbook.questions.review.analyse import analyse
from logbook.questions.review.changes import setup_changes
from logbook.questions.review.data import ReviewData
from logbook.questions.review.judging import judged_together
from logbook.questions.review.words import headline, in_full
from logbook.runs.columns import run_schema
from logbook.shop import Shop
from logbook.vocabulary.defects import kind

WEEK = "2026-W42"
WEEKS = (*weeks_before(WEEK, 15), WEEK)
KINDS = ("gaps", "puckering", "thread_breaks", "fabric_faults", "any")
SHOP = Shop()


@st.composite
def weekly(draw):
    rows = []
    for name in KINDS:
        for week in draw(st.lists(st.sampled_from(WEEKS), unique=True, max_size=16)):
            pieces = draw(st.integers(1, 2000))
            rows.append(
                {
                    "kind": name,
                    "week": week,
                    "runs": draw(st.integers(1, 9)),
                    "exposure": float(pieces),
                    "count": draw(st.integers(0, min(pieces, 60))),
                    "spoiled": draw(st.one_of(st.none(), st.integers(0, 9).map(float))),
                    "reworked": None,
                    "rework_minutes": draw(st.one_of(st.none(), st.integers(0, 90).map(float))),
                }
            )
    schema = {
        "kind": pl.String,
        "week": pl.String,
        "runs": pl.Int64,
        "exposure": pl.Float64,
        "count": pl.Int64,
        "spoiled": pl.Float64,
        "reworked": pl.Float64,
        "rework_minutes": pl.Float64,
    }
    return pl.DataFrame(rows, schema=schema)


@st.composite
def week_runs(draw):
    monday = datetime.combine(days_of(WEEK)[0], datetime.min.time())
    rows = [
        {
            "run_ref": f"R{number}",
            "finished_at": monday,
            "machine": draw(st.sampled_from(["M1", "M2", None])),
            "pieces_sewn": 60,
            "pieces_inspected": draw(st.one_of(st.none(), st.just(60))),
            "stitches_sewn": 300_000.0,
            "pieces_spoiled": draw(st.one_of(st.none(), st.integers(0, 5))),
            "gaps": draw(st.one_of(st.none(), st.integers(0, 60))),
            "thread_breaks": draw(st.integers(0, 90)),
            "needle_parts_found": draw(st.sampled_from([None, True, False])),
        }
        for number in range(draw(st.integers(0, 12)))
    ]
    return pl.DataFrame(rows, schema=run_schema())


@st.composite
def mix_of(draw, levels=("a", "b", "c", None)):
    rows = [
        {"week": week, "machine": level, "pieces_sewn": draw(st.integers(0, 500))}
        for week in WEEKS
        for level in levels
    ]
    return pl.DataFrame(rows)


@st.composite
def review_data(draw):
    runs = draw(week_runs())
    totals = pl.DataFrame(
        {
            "week": [WEEKS[-2], WEEK],
            "runs": [4, runs.height],
            "pieces_inspected": [240, 60 * runs.height],
            "stitches_sewn": [1e6, 3e5 * runs.height],
            "runs_inspected_assumed": [0, 1],
            "runs_any_assumed": [0, 0],
            "runs_held": [draw(st.integers(0, 2)), 0],
        }
    )
    return ReviewData(draw(weekly()), totals, runs, {"machine": draw(mix_of())})


def shuffled(frame, random):
    order = list(range(frame.height))
    random.shuffle(order)
    return frame[order]


@settings(max_examples=60)
@given(review_data())
def test_whatever_was_counted_the_review_answers_in_json(data):
    result = analyse(data, week=WEEK, shop=SHOP)
    json.dumps(result.as_json(), allow_nan=False)
    assert headline(result)
    assert in_full(result)
    assert result.table().height == len(result.defects) + len(result.kept_apart)
    assert len(result.look_at) <= 8


@settings(max_examples=60)
@given(review_data(), st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_matter(data, random):
    other = ReviewData(
        shuffled(data.weekly, random),
        shuffled(data.weekly_totals, random),
        shuffled(data.week_runs, random),
        {factor: shuffled(totals, random) for factor, totals in data.mix.items()},
    )
    one = analyse(data, week=WEEK, shop=SHOP).as_json()
    assert analyse(other, week=WEEK, shop=SHOP).as_json() == one


@settings(max_examples=60)
@given(weekly(), st.sampled_from([4.0, 1024.0]))
def test_stitches_times_k_divide_rates_and_change_no_verdict(cells, k):
    kinds = [kind("thread_breaks")]
    scaled = cells.with_columns(pl.col("exposure") * k)
    for one, other in zip(
        judged_together(cells, WEEK, kinds), judged_together(scaled, WEEK, kinds), strict=True
    ):
        assert other.rate * k == pytest.approx(one.rate, nan_ok=True)
        assert other.p_value == pytest.approx(one.p_value, nan_ok=True)
        assert (other.verdict, other.signals) == (one.verdict, one.signals)


@settings(max_examples=60)
@given(weekly())
def test_looking_at_more_kinds_never_makes_one_more_certain(cells):
    together = judged_together(cells, WEEK, [kind(name) for name in KINDS])
    for judged in together:
        (alone,) = judged_together(cells, WEEK, [judged.kind])
        assert alone.p_value == judged.p_value or judged.p_value != judged.p_value
        assert not judged.q_value < alone.p_value


@settings(max_examples=60)
@given(mix_of())
def test_names_of_levels_do_not_matter_to_the_mix(totals):
    names = {"a": "zebra", "b": "yak", "c": "xerus"}
    renamed = totals.with_columns(pl.col("machine").replace(names))
    one = setup_changes({"machine": totals}, WEEK)
    other = setup_changes({"machine": renamed}, WEEK)
    assert sorted((each.what, each.share, each.share_before) for each in one) == sorted(
        (each.what, each.share, each.share_before) for each in other
    )
