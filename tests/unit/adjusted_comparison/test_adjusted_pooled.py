import polars as pl
import pytest
from planted_cells import planted
from polars.testing import assert_frame_equal

from logbook.adjusted_comparison import OTHERS, UnitCosts, fit_kinds, pooled_kinds, predict_setups
from logbook.vocabulary.defects import kind

PUCKERING, GAPS, LOOPING = kind("puckering"), kind("gaps"), kind("looping")
KINDS = (PUCKERING, GAPS, LOOPING)


@pytest.fixture(scope="module")
def cells() -> pl.DataFrame:
    own = planted(runs=600)
    quarter = own.with_columns(count=pl.col("count") // 4)
    return pl.concat(
        [own, *(quarter.with_columns(kind=pl.lit(each.name)) for each in (GAPS, LOOPING))]
    )


def test_the_rest_adds_up(cells):
    pooled = pooled_kinds(cells, kinds=KINDS, separate=(PUCKERING,))
    assert (pooled.separate, pooled.pooled) == ((PUCKERING,), (GAPS, LOOPING))
    assert pooled.kinds == (PUCKERING, OTHERS)
    rest = pooled.cells.filter(pl.col("kind") == OTHERS.name)
    apart = cells.filter(pl.col("kind") != PUCKERING.name)
    assert int(rest["count"].sum()) == int(apart["count"].sum())
    assert rest["exposure"].sum() * 2 == apart["exposure"].sum()


def test_a_kind_seldom_recorded_is_left_out_and_named(cells):
    few = cells.filter(
        (pl.col("kind") != LOOPING.name) | (pl.col("run_ref").str.slice(1).cast(pl.Int64) < 100)
    )
    pooled = pooled_kinds(few, kinds=KINDS, separate=(PUCKERING,))
    assert (pooled.pooled, pooled.left_out) == ((GAPS,), (LOOPING,))


def test_runs_that_lack_one_of_the_rest_are_not_in_it(cells):
    lacking = cells.filter((pl.col("kind") != LOOPING.name) | (pl.col("run_ref") != "R0"))
    rest = pooled_kinds(lacking, kinds=KINDS, separate=(PUCKERING,)).cells.filter(
        pl.col("kind") == OTHERS.name
    )
    assert "R0" not in rest["run_ref"].to_list()
    assert rest.height == 599


def test_a_count_never_exceeds_the_pieces(cells):
    full = cells.with_columns(count=pl.col("exposure").cast(pl.Int64))
    rest = pooled_kinds(full, kinds=KINDS, separate=()).cells
    assert (rest["count"] <= rest["exposure"]).all()


def test_money_is_defects_at_their_cost_less_dearer_backing(cells):
    fitted = fit_kinds(cells, kinds=(PUCKERING, GAPS))
    job = {"fabric": "twill", "topping": "none", "backing": "cut_away"}
    candidates = [{"topping": "water_soluble_film"}, {"topping": "water_soluble_film"}]
    costs = UnitCosts({"puckering": 10.0, "gaps": 4.0}, (0.10, 0.10, 0.25))
    now, same, dearer = predict_setups(fitted, job=job, candidates=candidates, costs=costs)
    assert now.money is not None
    assert now.money.expected == 0
    assert same.money is not None
    assert dearer.money is not None
    expected = 10 * (now.by_kind["puckering"] - same.by_kind["puckering"])
    expected += 4 * (now.by_kind["gaps"] - same.by_kind["gaps"])
    assert same.money.expected == pytest.approx(expected)
    assert dearer.money.expected == pytest.approx(expected - 0.15)
    low, high = same.money.interval
    assert low < same.money.told < same.money.expected < high
    # One kind at cost 1 and nothing else is the saving in rate itself.
    alone = predict_setups(
        fitted[:1],
        job=job,
        candidates=candidates[:1],
        costs=UnitCosts({"puckering": 1.0}, (0.0, 0.0)),
    )[1]
    assert alone.money is not None
    assert alone.money.expected == pytest.approx(alone.saved.expected)
    assert alone.money.interval == pytest.approx(alone.saved.interval)
    assert alone.money.chance_better == pytest.approx(alone.saved.chance_better)


@pytest.mark.parametrize("lost", [None, 2.0])
def test_kinds_of_the_same_runs_add_up_in_whatever_order_the_cells_come(cells, lost):
    losses = {name: pl.lit(lost, pl.Float64) for name in ("spoiled", "rework_minutes")}
    ordered = cells.with_columns(**losses).sort("kind", "run_ref")
    one, other = (
        pooled_kinds(each, kinds=KINDS, separate=(PUCKERING,)).cells.filter(
            pl.col("kind") == OTHERS.name
        )
        for each in (ordered, ordered.sample(fraction=1.0, shuffle=True, seed=3))
    )
    assert one.height == 600
    assert_frame_equal(one, other)
