import math

import polars as pl
import pytest
from planted_cells import planted

from logbook.adjusted_comparison import UnitCosts, fit_kinds, predict_setups
from logbook.errors import KernelError
from logbook.vocabulary.defects import kind

JOB = {
    "fabric": "pique polo",
    "density_band": "close",
    "backing": "sheer_mesh",
    "weight_band": "light",
    "backing_layers": "1",
    "backing_supplier": "Birch",
    "topping": "none",
}
NAMES = ("Alder", "Cedar", "Birch")


@pytest.fixture(scope="module")
def cells():
    return pl.concat([planted(), planted(kind="gaps", seed=8, topping=0.6)])


@pytest.fixture(scope="module")
def fitted(cells):
    return fit_kinds(cells, kinds=[kind("puckering"), kind("gaps")])


def test_a_change_that_helps_is_promised_with_caution(fitted):
    now, film, alder = predict_setups(
        fitted[:1],
        job=JOB,
        candidates=[{"topping": "water_soluble_film"}, {"backing_supplier": "Alder"}],
    )
    assert (now.changes, now.saved.expected, now.saved.interval) == ({}, 0.0, (0.0, 0.0))
    assert film.saved.expected == pytest.approx(now.rate - film.rate)
    lower, upper = film.saved.interval
    assert lower < film.saved.told < film.saved.expected < upper
    assert (film.saved.evidence, film.support.enough) == ("strong", True)
    assert film.saved.chance_better > 0.99
    assert alder.saved.expected > 0
    assert now.rate_interval[0] < now.rate < now.rate_interval[1]


def test_kinds_together_are_more_than_each_and_less_than_their_sum(fitted):
    for each in predict_setups(fitted, job=JOB, candidates=[{"topping": "water_soluble_film"}]):
        assert max(each.by_kind.values()) < each.rate < sum(each.by_kind.values())


def test_a_cure_that_brings_another_ill_shows_it(fitted):
    now, film = predict_setups(fitted, job=JOB, candidates=[{"topping": "water_soluble_film"}])
    assert film.by_kind["puckering"] < now.by_kind["puckering"]
    assert film.by_kind["gaps"] > now.by_kind["gaps"]


def test_a_change_never_tried_is_not_supported(fitted):
    tried, never, unheard = predict_setups(
        fitted[:1],
        job=JOB,
        candidates=[{"backing": "adhesive"}, {"backing_supplier": "Elm"}],
    )
    assert tried.support.enough
    assert not never.support.enough
    assert not unheard.support.enough
    assert never.support.runs == unheard.support.runs == 0


def test_two_changes_need_runs_that_had_both(fitted):
    both = {"topping": "water_soluble_film", "backing_supplier": "Alder"}
    _, one, two = predict_setups(
        fitted[:1], job=JOB, candidates=[{"topping": "water_soluble_film"}, both]
    )
    assert 0 < two.support.runs < one.support.runs


def test_the_order_of_candidates_does_not_matter(fitted):
    changes = [{"topping": "water_soluble_film"}, {"backing": "cut_away"}]
    forth = predict_setups(fitted, job=JOB, candidates=changes)
    back = predict_setups(fitted, job=JOB, candidates=changes[::-1])
    assert forth[1].saved.expected == pytest.approx(back[2].saved.expected)
    assert forth[1].saved.interval == pytest.approx(back[2].saved.interval)


def test_events_stand_alone_and_are_said_per_stitch(cells):
    events = planted(kind="thread_breaks", exposure_unit=1000.0)
    alone = fit_kinds(events, kinds=[kind("thread_breaks")])
    (now,) = predict_setups(alone, job=JOB, candidates=[])
    # As planted, per thousand stitches, with the luck of lots and runs on average.
    truth = math.exp(-3.2 + 0.4 - 0.3 + 0.8 + (0.2**2 + 0.3**2) / 2)
    assert now.rate == pytest.approx(truth / 1000, rel=0.2)
    mixed = (*alone, *fit_kinds(cells, kinds=[kind("gaps")]))
    with pytest.raises(KernelError, match="do not add up"):
        predict_setups(mixed, job=JOB, candidates=[])


def test_a_kind_that_hardly_happens_is_left_out(cells):
    rare = cells.with_columns(
        pl.when(pl.col("kind") == "gaps").then(0).otherwise("count").alias("count")
    )
    found = fit_kinds(rare, kinds=[kind("puckering"), kind("gaps")])
    assert [each.kind.name for each in found] == ["puckering"]


def test_the_interval_of_a_high_rate_is_one_of_rates(cells):
    many = cells.with_columns(pl.col("exposure") - pl.col("count") // 2).with_columns(
        count=pl.col("exposure") - pl.col("count") // 2
    )
    few = many.filter(pl.col("kind") == "puckering").head(12)
    (now,) = predict_setups(fit_kinds(few, kinds=[kind("puckering")]), job=JOB, candidates=[])
    assert now.rate > 0.9
    assert now.rate < now.rate_interval[1] < 1
    assert now.rate - now.rate_interval[0] > now.rate_interval[1] - now.rate


def test_where_defects_cost_nothing_the_price_alone_decides(fitted):
    costs = UnitCosts(defective={"puckering": 0.0, "gaps": 0.0}, material=[0.3, 0.2, 0.4, 0.3])
    _, cheaper, dearer, same = predict_setups(
        fitted, job=JOB, candidates=[{"backing_supplier": name} for name in NAMES], costs=costs
    )
    assert [each.money.chance_better for each in (cheaper, dearer, same)] == [1.0, 0.0, 0.5]
    assert cheaper.money.told == pytest.approx(0.1)


def test_a_density_that_was_never_sewn_rests_on_the_runs_near_it_alone(fitted):
    def runs(band: str) -> int:
        (now,) = predict_setups(fitted[:1], job={**JOB, "density_band": band}, candidates=[])
        return now.support.runs

    # The nearest that was sewn, solid, lies 1.55 stitches/mm² off on average.
    assert runs("open") == 0
    assert 0 < runs("layered") < runs("close")


def test_kinds_that_every_piece_shows_are_left_out(cells):
    whole = cells.with_columns(
        pl.when(pl.col("kind") == "gaps").then("exposure").otherwise("count").alias("count")
    )
    found = fit_kinds(whole, kinds=[kind("puckering"), kind("gaps")])
    assert [each.kind.name for each in found] == ["puckering"]
