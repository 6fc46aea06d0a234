"""Verdicts, words and money of the adjusted comparison, on runs with planted differences."""

import math
from dataclasses import replace

import polars as pl
import pytest
from planted_cells import planted

from logbook.errors import AnalysisError
from logbook.good_piece import Losses, losses_of
from logbook.questions.suppliers import words
from logbook.questions.suppliers.analyse import analyse
from logbook.questions.suppliers.words.verdicts import needed
from logbook.shop import Costs, Price, Shop
from logbook.vocabulary.defects import ANY, kind

PUCKERING = kind("puckering")
PRICES = tuple(
    Price(supplier, backing, per_m2)
    for supplier, per_m2 in (("Alder", 1.0), ("Birch", 0.9), ("Cedar", 0.5))
    for backing in ("cut_away", "sheer_mesh")
)
SHOP = Shop(prices=PRICES, costs=Costs(piece_value=20.0, labour_minute=0.5))


@pytest.fixture(scope="module")
def setups() -> pl.DataFrame:
    """Birch is worse than Alder, Cedar is its like; any defect is puckering here."""
    own = planted(runs=1500).with_columns(
        spoiled=pl.col("count") * 0.5,
        reworked=pl.lit(None, pl.Float64),
        rework_minutes=pl.col("count") * 4.0,
    )
    return pl.concat([own, own.with_columns(kind=pl.lit(ANY.name))])


@pytest.fixture(scope="module")
def totals(setups: pl.DataFrame) -> pl.DataFrame:
    return (
        setups.filter(pl.col("kind") == ANY.name)
        .group_by("backing_supplier", "backing", "backing_layers")
        .agg(
            pieces_sewn=pl.col("exposure").sum().cast(pl.Int64),
            pieces_spoiled=pl.col("spoiled").sum(),
            pieces_reworked=pl.lit(None, pl.Int64),
            rework_minutes=pl.col("rework_minutes").sum(),
        )
        .with_columns(backing_gsm=pl.lit(None, pl.Float64), backing_layers=pl.lit(1, pl.Int64))
    )


def compared(setups: pl.DataFrame, totals: pl.DataFrame | None = None, **asked):
    return analyse(
        setups.filter(pl.col("kind") == PUCKERING.name),
        kind=PUCKERING,
        shop=SHOP,
        reference="alder",
        setups=setups,
        totals=totals,
        **asked,
    )


@pytest.fixture(scope="module")
def result(setups: pl.DataFrame, totals: pl.DataFrame):
    return compared(setups, totals, margin=0.02)


def test_money_either_way_is_said_from_low_to_high_cost(result):
    costs = {
        name: replace(each, saving=-4.73, saving_interval=(-9.97, 0.50))
        for name, each in result.adjusted_costs.items()
    }
    said = words.headline(replace(result, adjusted_costs=costs))
    assert (
        f"100 good pieces cost {result.currency} 4.73 more on Birch's than on Alder's (between "
        f"{result.currency} 0.50 less and {result.currency} 9.97 more). Birch is worse"
    ) in said


def row_of(result, supplier: str):
    return next(row for row in result.as_json()["suppliers"] if row["supplier"] == supplier)


def test_verdicts_are_those_planted(result):
    assert row_of(result, "Alder")["verdict"] is None
    assert row_of(result, "Birch")["verdict"] == "worse"
    assert row_of(result, "Cedar")["verdict"] == "no_worse"
    for name in ("Birch", "Cedar"):
        row = row_of(result, name)
        lower, upper = row["difference_interval"]
        assert lower < row["difference"] < upper
        assert row["pieces_needed"] == 0


def test_the_first_line_speaks_to_the_buyer(result):
    first, second = words.headlines(result)
    assert first.startswith("100 good pieces cost EUR ")
    assert "Birch is worse than Alder on the same jobs: rate of puckering" in first
    assert second.startswith("100 good pieces cost EUR ")
    within = "within 1.5 times Alder's rate (2 points) by rate of puckering."
    assert second.endswith(f"Cedar is no worse than Alder {within}")
    alone = "(in backing alone it saves EUR 2.20 per 100 pieces)"
    assert sum(alone in each for each in words.sentences(result)) == 1


def test_the_price_is_that_of_the_sheets(result):
    # 0.04 m2 a sheet, a tenth lost in cutting, 0.5 a square metre less, 100 pieces.
    assert row_of(result, "Cedar")["price_saving_per_100_pieces"] == pytest.approx(
        100 * 0.04 * 1.1 * 0.5
    )


def test_a_good_piece_is_costed_at_the_like_for_like_rate(result):
    for name, per_m2 in (("Alder", 1.0), ("Birch", 0.9), ("Cedar", 0.5)):
        row = row_of(result, name)
        rate, spoiled = row["like_for_like_rate"], 0.5 * row["like_for_like_rate"]
        expected = (per_m2 * 0.044 + spoiled * 20.0 + rate * 4.0 * 0.5) / (1 - spoiled)
        assert row["cost_per_good_piece"] == pytest.approx(expected)
        lower, upper = row["cost_interval"]
        assert lower < row["cost_per_good_piece"] < upper
        assert row["cost_like_for_like"] is True
    birch = row_of(result, "Birch")
    assert birch["saving_per_100_pieces"] < 0
    low, high = birch["saving_interval"]
    assert low < birch["saving_per_100_pieces"] < high


def test_without_a_price_the_cost_is_as_recorded_or_not_said(setups, totals):
    bare = analyse(
        setups.filter(pl.col("kind") == PUCKERING.name),
        kind=PUCKERING,
        shop=Shop(),
        setups=setups,
        totals=totals,
    )
    for row in bare.as_json()["suppliers"]:
        assert row["cost_per_good_piece"] is None
        assert row["price_saving_per_100_pieces"] is None


def test_what_is_not_judged_is_told_what_it_takes(setups):
    few = setups.filter(pl.col("run_ref").str.slice(1).cast(pl.Int64) < 150)
    result = compared(few, margin=0.001)
    open_ones = [row for row in result.suppliers if row.adjusted.verdict == "not_enough_data"]
    assert open_ones
    told = "Not enough is on record to judge Cedar against Alder by rate of puckering."
    assert words.headlines(replace(result, adjusted_costs={}))[-1] == told
    for row in open_ones:
        assert row.adjusted.pieces_needed is not None
        within = replace(
            row,
            counted=replace(row.counted, exposure=2_000.0),
            adjusted=replace(row.adjusted, pieces_needed=1_190),
        )
        assert "About 1,200 more pieces inspected, from about" in needed(result, within)
        assert "new lots, would tell, if the difference is as it looks now." in needed(
            result, within
        )


def test_what_nobody_waits_for_is_not_told_in_pieces(setups):
    few = setups.filter(pl.col("run_ref").str.slice(1).cast(pl.Int64) < 150)
    result = compared(few, margin=0.001)
    row = next(each for each in result.suppliers if each.adjusted.verdict == "not_enough_data")
    many = round(1.1 * row.counted.exposure)
    far_off = replace(row, adjusted=replace(row.adjusted, pieces_needed=many))
    assert needed(result, far_off) == (
        f" More than all that {row.supplier} has on record would be needed to tell: too long to "
        "wait for."
    )


def test_a_question_that_no_record_settles_is_not_answered_with_alike(setups):
    few = setups.filter(pl.col("run_ref").str.slice(1).cast(pl.Int64) < 150)
    result = compared(few, margin=0.001)
    row = next(each for each in result.suppliers if each.adjusted.verdict == "not_enough_data")
    never = replace(row, adjusted=replace(row.adjusted, pieces_needed=None, lots_needed=None))
    assert needed(result, never) == (
        " Even 200 times this record would not tell: the two may be alike, or as far apart as the "
        "interval says."
    )


def test_faults_of_the_fabric_are_first_of_all_not_the_backings(setups):
    faults = setups.with_columns(kind=pl.col("kind").replace({PUCKERING.name: "fabric_faults"}))
    result = analyse(
        faults.filter(pl.col("kind") == "fabric_faults"),
        kind=kind("fabric_faults"),
        shop=SHOP,
        setups=faults,
    )
    assert words.headline(result).startswith("Faults of the fabric came in with the goods")


def test_a_margin_of_more_than_all_pieces_is_refused(setups):
    with pytest.raises(AnalysisError, match="300 points"):
        compared(setups, margin=3.0)


def test_too_few_defects_leave_the_plain_check_and_say_why(setups):
    none = setups.with_columns(count=pl.lit(0, pl.Int64))
    result = compared(none)
    assert not result.adjusted_given
    assert any(
        note.startswith("No verdict: Puckering: 0 counted in all, too few")
        for note in words.notes(result)
    )


def test_a_disagreement_with_the_plain_check_is_said(setups):
    # One lot of Cedar's goes wrong: pieces are many, lots are few.
    bad = (pl.col("backing_supplier") == "Cedar") & (pl.col("backing_lot") == "L1")
    spoiled = setups.with_columns(
        count=pl.when(bad).then((pl.col("exposure") * 0.12).cast(pl.Int64)).otherwise("count")
    )
    result = compared(spoiled, margin=0.001)
    row = next(each for each in result.suppliers if each.supplier == "Cedar")
    assert row.check is not None
    assert row.check.like_for_like.excludes_zero
    assert row.adjusted.verdict == "not_enough_data"
    assert any(
        "calls Cedar clearly worse than Alder; the fair comparison does not" in note
        for note in words.notes(result)
    )


def test_losses_are_those_of_runs_that_recorded_them():
    cells = pl.DataFrame(
        {
            "count": [10, 10, 5],
            "spoiled": [2.0, None, 1.0],
            "reworked": [None, 4.0, None],
            "rework_minutes": [30.0, None, None],
        }
    )
    assert losses_of(cells, Costs(labour_minute=0.5, rework_minutes_per_piece=8.0)) == Losses(
        spoiled=3 / 15, rework=(30 + 4 * 8) * 0.5 / 20
    )
    nothing = losses_of(cells.with_columns(pl.lit(None, pl.Float64).alias("spoiled")), Costs())
    assert math.isnan(nothing.spoiled)


def test_a_cost_on_other_jobs_is_not_to_be_set_against_the_others(setups, totals):
    own_jobs = setups.with_columns(
        fabric=pl.when(pl.col("backing_supplier") == "Cedar")
        .then(pl.lit("felt"))
        .otherwise("fabric")
    )
    result = compared(own_jobs, totals)
    cedar = row_of(result, "Cedar")
    assert cedar["cost_like_for_like"] is False
    assert cedar["cost_per_good_piece"] > 0
    note = "What a good piece costs on Cedar's backing is as recorded, on other jobs"
    assert sum(each.startswith(note) for each in words.notes(result)) == 1
    assert not any("as recorded" in each for each in words.notes(compared(setups, totals)))
