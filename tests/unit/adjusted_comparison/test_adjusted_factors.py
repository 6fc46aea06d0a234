import math

import polars as pl
import pytest
from planted_cells import planted

from logbook.adjusted_comparison import adjusted_factors
from logbook.vocabulary.defects import kind

PUCKERING = kind("puckering")


def effects_of(cells):
    return adjusted_factors(cells, kind=PUCKERING).effects


@pytest.fixture(scope="module")
def effects():
    found = effects_of(planted(seed=1))
    return {(each.factor, each.level): each for each in found}


def test_what_was_planted_is_found_and_its_size_is_right(effects):
    film = effects["topping", "water_soluble_film"]
    assert film.finding
    # Planted odds of e^-1 on small rates, give or take what the record leaves open.
    assert film.ratio_interval[0] < math.exp(-1) * 1.05 < film.ratio_interval[1]
    assert film.rate / film.others_rate == pytest.approx(film.ratio)
    assert effects["topping", "none"].ratio == pytest.approx(1 / film.ratio, rel=0.1)
    assert effects["backing_supplier", "Birch"].finding
    assert effects["backing_supplier", "Birch"].ratio > 1


def test_what_does_nothing_is_not_found(effects):
    bands = [each for (factor, _), each in effects.items() if factor == "density_band"]
    assert [each.finding for each in bands] == [False] * 3


def test_factors_that_never_vary_are_left_out(effects):
    assert {factor for factor, _ in effects} == {
        *("fabric", "backing", "backing_supplier", "topping", "density_band"),
    }


def test_a_level_counts_all_its_runs(effects):
    cells = planted(seed=1)
    film = cells.filter(pl.col("topping") == "water_soluble_film")
    said = effects["topping", "water_soluble_film"]
    assert (said.runs, said.exposure, said.count) == (
        film.height,
        film["exposure"].sum(),
        film["count"].sum(),
    )
    assert said.crude_rate == pytest.approx(said.count / said.exposure)
    assert said.like_for_like_share == 1.0


def test_a_level_never_used_on_the_same_jobs_cannot_be_told_apart():
    apart = planted().with_columns(
        pl.when(pl.col("fabric") == "twill")
        .then(pl.lit("heat_away_film"))
        .otherwise("topping")
        .alias("topping")
    )
    said = {each.level: each for each in effects_of(apart) if each.factor == "topping"}
    alone = said["heat_away_film"]
    assert math.isnan(alone.ratio)
    assert math.isnan(alone.q_value)
    assert not alone.finding
    assert "shares no jobs with the others" in alone.notes[0]
    assert said["none"].q_value <= 1


def test_a_level_without_a_defect_is_said_with_what_it_rests_on():
    clean = planted().with_columns(
        pl.when((pl.col("topping") == "none") & (pl.col("run_ref").str.ends_with("7")))
        .then(pl.lit("heat_away_film"))
        .otherwise("topping")
        .alias("topping")
    )
    clean = clean.with_columns(
        pl.when(pl.col("topping") == "heat_away_film").then(0).otherwise("count").alias("count")
    )
    said = {each.level: each for each in effects_of(clean)}["heat_away_film"]
    assert said.count == 0
    assert math.isfinite(said.ratio_interval[1])
    assert "the rate is probably below 3 in" in said.notes[-1]


def test_a_level_mostly_used_on_other_jobs_carries_a_warning():
    mostly = planted().with_columns(
        pl.when(pl.col("fabric") == "twill")
        .then(pl.lit("heat_away_film"))
        .when((pl.col("fabric") == "pique polo") & pl.col("run_ref").str.ends_with("3"))
        .then(pl.lit("heat_away_film"))
        .otherwise("topping")
        .alias("topping")
    )
    said = {each.level: each for each in effects_of(mostly)}["heat_away_film"]
    assert 0 < said.like_for_like_share < 0.5
    assert "lies on jobs that others were used on too" in said.notes[0]
