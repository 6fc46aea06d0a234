"""Rates along ordered factors."""

import math

import numpy as np
import polars as pl
import pytest
from planted_cells import BLANK, planted

from logbook.adjusted_comparison import CELLS_BY, adjusted_factors
from logbook.vocabulary.defects import kind

PUCKERING = kind("puckering")
STEP = 0.4
"""Log odds that each needle size adds."""


def along(levels, *, column="needle_nm", step=STEP, runs=900, seed=3, pick=None):
    """Runs whose rate rises by ``step`` from each level to the next."""
    rng = np.random.default_rng(seed)
    rows = []
    for number in range(runs):
        fabric = int(rng.integers(3))
        place = int(rng.integers(len(levels))) if pick is None else pick(rng, fabric)
        pieces = int(rng.integers(20, 150))
        eta = -3.5 + 0.4 * fabric + step * place + rng.normal(0, 0.2)
        rows.append(
            BLANK
            | {
                "run_ref": f"R{number}",
                "month": "2026-01",
                "design": f"D{rng.integers(20)}",
                "fabric": ("twill", "pique polo", "jersey T-shirt")[fabric],
                "backing": "cut_away",
                column: levels[place],
                "runs": 1,
                "exposure": float(pieces),
                "count": int(rng.binomial(pieces, 1 / (1 + np.exp(-eta)))),
            }
        )
    return pl.DataFrame(rows, schema_overrides=dict.fromkeys(CELLS_BY, pl.String))


def curve(cells, factor="needle_nm"):
    return next(
        each for each in adjusted_factors(cells, kind=PUCKERING).curves if each.factor == factor
    )


def test_points_stand_in_the_order_of_the_quantity_not_of_the_words():
    found = curve(along(["65", "75", "100"]))
    assert [point.level for point in found.points] == ["65", "75", "100"]


def test_bands_stand_in_the_order_in_which_they_are_cut():
    found = curve(along(["slow", "steady", "brisk", "fast"], column="speed_band"), "speed_band")
    assert [point.level for point in found.points] == ["slow", "steady", "brisk", "fast"]


def test_a_planted_rise_is_found_step_by_step():
    found = curve(along(["65", "70", "75", "80"]))
    assert found.p_value < 0.001
    lower, upper = found.per_step_interval
    # Of small rates the odds are nearly the rate: e^0.4 is 1.49, less as rates grow.
    assert lower < math.exp(STEP) < upper * 1.05
    rates = [point.rate for point in found.points]
    assert rates == sorted(rates)
    for point in found.points:
        assert point.interval[0] < point.rate < point.interval[1]


def test_what_does_nothing_has_no_rise():
    found = curve(along(["65", "70", "75", "80"], step=0.0))
    assert found.per_step_interval[0] < 1 < found.per_step_interval[1]
    assert found.p_value > 0.05


def test_points_count_all_that_was_sewn_with_the_level():
    cells = along(["65", "75"])
    for point in curve(cells).points:
        own = cells.filter(pl.col("needle_nm") == point.level)
        assert (point.runs, point.exposure, point.count) == (
            own.height,
            own["exposure"].sum(),
            own["count"].sum(),
        )


def test_all_points_are_over_the_same_pieces():
    cells = along(["65", "75"], pick=lambda rng, fabric: 0 if fabric == 2 else int(rng.integers(2)))
    shared = cells.filter(pl.col("fabric") != "jersey T-shirt")
    assert curve(cells).exposure == shared["exposure"].sum()


def test_a_level_of_its_own_jobs_is_left_off_the_curve_and_named():
    cells = along(
        ["65", "75", "100"],
        pick=lambda rng, fabric: 2 if fabric == 2 else int(rng.integers(2)),
    )
    found = curve(cells)
    assert [point.level for point in found.points] == ["65", "75"]
    assert found.left_out == ("100",)


def test_levels_that_share_no_job_make_no_curve():
    found = curve(along(["65", "75", "100"], pick=lambda rng, fabric: fabric))  # noqa: ARG005
    assert found.points == ()
    assert math.isnan(found.per_step)
    assert set(found.left_out) == {"65", "75", "100"}


def test_runs_that_do_not_say_a_level_belong_to_none():
    cells = along(["65", "75"], runs=600)
    unsaid = cells.with_columns(
        pl.when(pl.col("run_ref").str.ends_with("3"))
        .then(pl.lit(None, dtype=pl.String))
        .otherwise("needle_nm")
        .alias("needle_nm")
    )
    told = unsaid.filter(pl.col("needle_nm").is_not_null())
    found = curve(unsaid)
    assert found.exposure == told["exposure"].sum()
    assert sum(point.exposure for point in found.points) == told["exposure"].sum()


def test_density_bands_carry_their_slope():
    bands = [
        each
        for each in adjusted_factors(planted(seed=1), kind=PUCKERING).curves
        if each.factor == "density_band"
    ]
    assert [point.level for point in bands[0].points] == ["solid", "close", "layered"]
    assert bands[0].per_step == pytest.approx(1.0, abs=0.25)
