"""Advice on runs with a planted effect of film and of one supplier."""

from __future__ import annotations

import math
from dataclasses import replace

import polars as pl
import pytest
from planted_cells import planted

from logbook.errors import TooLittleData
from logbook.questions.advice.analyse import advise
from logbook.questions.advice.candidates import double_changes, single_changes
from logbook.questions.advice.job import attributes_of, in_words, job_from
from logbook.questions.advice.materials import Materials
from logbook.questions.advice.result import AdviceResult
from logbook.questions.advice.words import headline
from logbook.shop import Costs, FabricFacts, Price, Shop, ToppingPrice
from logbook.vocabulary.defects import ANY

SHOP = Shop(
    costs=Costs(piece_value=20.0, labour_minute=0.5),
    costs_assumed=False,
    prices=tuple(
        Price(supplier, backing, per_m2)
        for supplier, per_m2 in (("Alder", 1.0), ("Birch", 0.8), ("Cedar", 0.6))
        for backing in ("cut_away", "sheer_mesh")
    ),
)
EQUAL = {"Alder": 0.0, "Birch": 0.0, "Cedar": 0.0}
WEIGHTS = pl.DataFrame(
    schema={
        "backing_supplier": pl.String,
        "backing": pl.String,
        "weight_band": pl.String,
        "backing_gsm": pl.Float64,
        "pieces_sewn": pl.Int64,
    }
)


def cells_of(frame: pl.DataFrame) -> pl.DataFrame:
    own = frame.with_columns(
        hooping=pl.lit("hooped"),
        needle_nm=pl.lit("75"),
        spoiled=pl.col("count") * 0.5,
        reworked=pl.lit(None, pl.Float64),
        rework_minutes=pl.col("count") * 4.0,
    )
    return pl.concat([own, own.with_columns(kind=pl.lit(ANY.name))])


@pytest.fixture(scope="module")
def cells() -> pl.DataFrame:
    return cells_of(planted(runs=1500))


def advised(cells: pl.DataFrame, **asked) -> AdviceResult:
    job = {"fabric": "twill", "setup": {"topping": "none", "backing_supplier": "Birch"}} | asked
    return advise(cells, shop=SHOP, weights=WEIGHTS, **job)


@pytest.fixture(scope="module")
def result(cells: pl.DataFrame) -> AdviceResult:
    return advised(cells)


def of(result: AdviceResult, **changes: str):
    return next(
        (
            each
            for each in result.suggestions
            if {change.factor: change.after for change in each.changes} == changes
        ),
        None,
    )


def test_what_was_planted_is_suggested_with_strong_evidence(result):
    film = of(result, topping="water_soluble_film")
    assert film is not None
    assert film.evidence == "strong"
    assert film.trial is None
    assert film.expected_rate < result.expected_rate
    # The headline does not promise what the price of the film may take back.
    assert film.uncounted == ("the price of the film",)
    assert headline(result).endswith(
        " Not counted in that: the price of the film, as no price is known."
    )
    low, high = film.saving_interval
    assert 0 < low < film.saving_per_100 < film.best_guess_per_100 < high
    alder = of(result, backing_supplier="Alder")
    assert alder is not None
    assert alder.evidence == "strong"
    assert headline(result).startswith("For twill, change ")


def test_single_changes_come_before_double_ones_which_must_add_something(result):
    sizes = [len(each.changes) for each in result.suggestions if each.evidence != "thin"]
    assert sizes == sorted(sizes)
    both = next(each for each in result.suggestions if len(each.changes) == 2)
    singles = [each for each in result.suggestions if len(each.changes) == 1]
    assert both.saving_per_100 > max(each.saving_per_100 for each in singles)


def test_a_setup_that_has_it_all_is_kept(cells):
    best = advised(
        cells,
        setup={
            "topping": "water_soluble_film",
            "backing": "sheer_mesh",
            "backing_supplier": "Cedar",
        },
    )
    assert all(each.evidence != "strong" for each in best.suggestions)
    assert "topping" not in {change.factor for each in best.suggestions for change in each.changes}


def test_money_is_what_defects_and_sheets_cost(result):
    cedar = of(result, backing_supplier="Cedar")
    assert cedar is not None
    # Half of the defective pieces are lost at 20, each takes 4 minutes at 0.5; a sheet of Cedar's
    # is 0.2 a square metre cheaper than Birch's, 0.04 m2 and a tenth lost in cutting.
    defects = cedar.pieces_saved_per_100 * (0.5 * 20 + 4 * 0.5)
    assert cedar.saving_per_100 == pytest.approx(defects + 100 * 0.044 * 0.2, rel=1e-6)


def test_nothing_without_like_runs_is_suggested(cells):
    other = cells.with_columns(
        topping=pl.when(pl.col("fabric") == "twill").then(pl.lit("none")).otherwise("topping")
    )
    result = advised(other)
    assert of(result, topping="water_soluble_film") is None
    assert not any(
        change.factor == "topping" for each in result.suggestions for change in each.changes
    )


def test_thin_evidence_comes_with_a_trial_and_promises_nothing():
    level = planted(runs=500, seed=8, supplier_effects=EQUAL, topping=-0.25)
    unpriced = Shop(costs=SHOP.costs)
    result = advise(cells_of(level), shop=unpriced, weights=WEIGHTS, fabric="twill")
    unsure = [each for each in result.suggestions if each.evidence != "strong"]
    assert unsure
    for each in unsure:
        assert each.trial is not None
        assert each.trial.pairs > 0
    thin = [line for line in result.lines() if "thin evidence" in line]
    assert all("it may save" in line for line in thin)


def test_every_suggestion_says_what_it_does_to_every_kind(result):
    for each in result.suggestions:
        assert [kind.kind for kind in each.by_kind] == ["puckering"]


def test_json_has_the_fields_that_scripts_rely_on(result):
    answer = result.as_json()
    assert set(answer) >= {"job", "now", "suggestions", "rules"}
    assert set(answer["now"]) >= {"setup", "expected_rate", "interval", "runs", "pieces"}
    first = answer["suggestions"][0]
    assert set(first) >= {
        *("changes", "expected_rate", "interval", "saving_per_100_pieces", "saving_interval"),
        *("chance_better", "runs", "pieces_inspected", "evidence", "cautions", "trial"),
    }
    assert set(first["changes"][0]) >= {"factor", "from", "to"}
    assert answer["now"]["setup"]["backing_supplier"] == "Birch"


def test_the_order_of_runs_does_not_matter(cells, result):
    again = advised(cells.sample(fraction=1, shuffle=True, seed=3))
    assert [each.words() for each in again.suggestions] == [
        each.words() for each in result.suggestions
    ]
    assert again.expected_rate == pytest.approx(result.expected_rate, rel=1e-6)


def test_an_unknown_fabric_has_no_setup_to_start_from(cells):
    with pytest.raises(TooLittleData, match="No run on felt with pieces inspected"):
        advised(cells, fabric="felt")


def test_too_few_defects_say_so(cells):
    with pytest.raises(TooLittleData, match="Too few defects"):
        advised(cells.with_columns(count=pl.lit(0, pl.Int64)))


def test_without_a_record_of_losses_each_defective_piece_is_reworked(cells):
    bare = cells.with_columns(
        spoiled=pl.lit(None, pl.Float64), rework_minutes=pl.lit(None, pl.Float64)
    )
    result = advised(bare)
    film = of(result, topping="water_soluble_film")
    assert film is not None
    assert film.saving_per_100 == pytest.approx(film.pieces_saved_per_100 * 8 * 0.5)
    assert any("each is taken as reworked for 8 minutes" in note for note in result.notes)


def test_without_prices_the_saving_counts_defects_only(cells):
    result = advise(
        cells,
        shop=Shop(costs=SHOP.costs),
        weights=WEIGHTS,
        fabric="twill",
        setup={"backing_supplier": "Birch"},
    )
    alder = of(result, backing_supplier="Alder")
    assert alder is not None
    assert any("is not known" in caution for caution in alder.cautions)
    assert alder.saving_per_100 == pytest.approx(alder.pieces_saved_per_100 * 12)


def test_the_price_of_film_comes_off_the_saving(cells, result):
    dear = replace(SHOP, topping_prices=(ToppingPrice("water_soluble_film", 0.5),))
    priced = advise(
        cells,
        shop=dear,
        weights=WEIGHTS,
        fabric="twill",
        setup={"topping": "none", "backing_supplier": "Birch"},
    )
    before, after = (of(each, topping="water_soluble_film") for each in (result, priced))
    assert before is not None
    assert after is not None
    # A sheet of 0.04 m² and a tenth of it lost in cutting, for each of a hundred pieces.
    film = 100 * 0.5 * 0.04 * 1.1
    assert before.best_guess_per_100 - after.best_guess_per_100 == pytest.approx(film)
    assert any("price of the film, and the time" in caution for caution in before.cautions)
    assert any("film is not counted; its price is" in caution for caution in after.cautions)
    # Film that has no price yet is not set against film that has.
    materials = Materials(dear, WEIGHTS)
    assert materials.topping({"topping": "none"}) == 0
    assert math.isnan(materials.topping({"topping": "heat_away_film"}))
    assert math.isnan(materials.topping({}))


def test_rules_of_thumb_are_held_against_the_record(cells):
    knit = cells.with_columns(fabric=pl.col("fabric").replace("twill", "terry towel"))
    result = advised(knit, fabric="terry towel")
    rule = next(each for each in result.as_json()["rules"] if each["rule"] == "film_on_pile")
    assert rule["source"].startswith("common practice (strong)")
    assert rule["record"].startswith("The shop's record bears it out")


def test_a_rule_that_the_record_cannot_judge_says_so(cells):
    knit = cells.with_columns(
        fabric=pl.col("fabric").replace("twill", "terry towel"), topping=pl.lit("none")
    )
    result = advised(knit, fabric="terry towel")
    rule = next(each for each in result.as_json()["rules"] if each["rule"] == "film_on_pile")
    assert rule["record"].startswith("The shop's record cannot tell")


def test_what_was_not_told_is_the_usual_of_the_record(cells):
    words = in_words(cells).filter(pl.col("kind") == ANY.name)
    job = job_from(words, fabric="twill", setup={"topping": "none"})
    assert job.setup["topping"] == "none"
    assert job.setup["hooping"] == "hooped"
    assert job.setup["backing"] in ("cut_away", "sheer_mesh")
    assert job.usual_runs > 0
    assert job.given == {"topping"}


def test_candidates_are_what_like_jobs_were_sewn_with(cells):
    words = in_words(cells).filter((pl.col("kind") == ANY.name) & (pl.col("fabric") == "twill"))
    setup = {
        "topping": "none",
        "backing": "cut_away",
        "backing_supplier": "Alder",
        "hooping": "hooped",
    }
    job = job_from(words, fabric="twill", setup=setup)
    singles = single_changes(words, job)
    changed = [dict(each.changes) for each in singles]
    assert {"topping": "water_soluble_film"} in changed
    assert {"backing_supplier": "Birch"} in changed
    assert {"backing": "sheer_mesh"} in changed
    assert not any("hooping" in each or "needle_nm" in each for each in changed)
    doubles = [dict(each.changes) for each in double_changes(singles)]
    assert {"topping": "water_soluble_film", "backing_supplier": "Birch"} in doubles
    assert {"backing": "sheer_mesh", "backing_supplier": "Birch"} not in doubles


def test_the_price_of_a_setup_follows_supplier_and_layers():
    materials = Materials(SHOP, WEIGHTS)
    setup = {"backing": "cut_away", "backing_supplier": "Alder", "backing_layers": "2"}
    assert materials.of(setup) == pytest.approx(2 * 0.044)
    assert materials.of({**setup, "backing": "none"}) == 0
    assert math.isnan(materials.of({**setup, "backing_supplier": "Elm"}))


def test_attributes_of_a_fabric_come_from_the_shop_before_the_trade():
    assert attributes_of("terry towel", Shop())["fabric_pile"] == "pile"
    own = Shop(
        fabrics=(FabricFacts("terry towel", stretch="high", pile_mm=0.5, sheerness="sheer"),)
    )
    found = attributes_of("Terry Towel", own)
    assert found["fabric_stretch"] == "high"
    assert found["fabric_pile"] == "texture"
    assert found["fabric_sheer"] == "true"
    assert attributes_of("cloth of gold", Shop()) == {}
