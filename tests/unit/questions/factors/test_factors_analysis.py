"""What goes with a defect: figures, words, order, and what cannot be told."""

import json
import math
from itertools import pairwise

import polars as pl
import pytest
from planted_cells import planted

from logbook.adjusted_comparison import adjusted_factors
from logbook.errors import AnalysisError, TooLittleData
from logbook.kernels.intervals import proportion
from logbook.questions.factors import words
from logbook.questions.factors.analyse import analyse
from logbook.shop import SameMill, Shop
from logbook.vocabulary.defects import kind

PUCKERING, BREAKS = kind("puckering"), kind("thread_breaks")
SHOP = Shop()
FIELDS = {
    *("factor", "level", "reference", "runs", "pieces_inspected", "crude_rate", "adjusted_rate"),
    *("adjusted_interval", "ratio", "ratio_interval", "p_value", "q_value", "finding"),
    "like_for_like_share",
}


def asked(cells, **more):
    return analyse(cells, **{"kind": PUCKERING, "shop": SHOP} | more)


@pytest.fixture(scope="module")
def cells():
    return planted(seed=1)


@pytest.fixture(scope="module")
def result(cells):
    return asked(cells)


@pytest.fixture(scope="module")
def answer(result):
    return told(result)


def told(result):
    """The answer's fields as a script reads them."""
    notes = [*words.pressing(result), *words.notes(result)]
    return {**result.as_json(), "finding": words.headline(result), "notes": notes}


def note_of(result, said):
    """The one note that holds these words."""
    [note] = [each for each in words.notes(result) if said in each]
    return note


def effect(answer, factor, level):
    return next(
        each for each in answer["effects"] if (each["factor"], each["level"]) == (factor, level)
    )


def test_every_effect_has_the_fields_that_scripts_rely_on(answer):
    assert answer["defect"] == "puckering"
    for each in answer["effects"]:
        assert set(each) >= FIELDS
        assert each["reference"].startswith("the others")
        assert bool(each["set_apart"]) == (each["reference"] != "the others")
    json.dumps(answer, allow_nan=False)


def test_figures_are_those_of_the_adjusted_comparison(cells, answer):
    for each in adjusted_factors(cells, kind=PUCKERING).effects:
        said = effect(answer, each.factor, each.level)
        assert (said["runs"], said["pieces_inspected"], said["count"]) == (
            *(each.runs, each.exposure),
            each.count,
        )
        assert said["finding"] is each.finding
        # Rows are put in order first, so that the others are laid out a little differently.
        assert said["ratio"] == pytest.approx(each.ratio, rel=0.02)


def test_the_crude_rate_stands_beside_it_with_its_interval(answer):
    film = effect(answer, "topping", "water_soluble_film")
    wilson = proportion(count=film["count"], trials=film["pieces_inspected"])
    assert film["crude_rate"] == film["count"] / film["pieces_inspected"]
    assert film["crude_interval"] == pytest.approx([wilson.lower, wilson.upper])
    bare = effect(answer, "topping", "none")
    assert film["crude_ratio"] == pytest.approx(film["crude_rate"] / bare["crude_rate"])
    assert film["crude_ratio"] == pytest.approx(1 / bare["crude_ratio"])


def test_findings_come_first_and_those_first_that_are_surest_far_from_one(result):
    found = [each.adjusted.finding for each in result.effects]
    assert found == sorted(found, reverse=True)
    assert sum(found) >= 3
    least = [each.at_least for each in result.findings]
    assert least == pytest.approx(sorted(least, reverse=True), rel=1e-8)
    after = [each.adjusted.p_value for each in result.effects[sum(found) :]]
    assert after == pytest.approx(sorted(after), rel=1e-8)


def test_of_two_levels_the_first_of_the_record_comes_first(result):
    """One is the other turned round: rounding would else say which comes first."""
    pairs = [
        (one.adjusted, other.adjusted)
        for one, other in pairwise(result.effects)
        if one.adjusted.factor == other.adjusted.factor
        and one.adjusted.ratio * other.adjusted.ratio == pytest.approx(1, rel=1e-9)
    ]
    assert pairs
    assert [(one.level, other.level) for one, other in pairs] == [
        tuple(sorted((one.level, other.level))) for one, other in pairs
    ]


def test_a_finding_has_a_wider_interval_and_says_so(answer):
    for each in answer["effects"]:
        assert each["ratio_interval_level"] == pytest.approx(0.99 if each["finding"] else 0.95)
    assert any("99 % interval" in note for note in answer["notes"])


def test_evidence_follows_from_how_sure_it_is(result):
    words = {each.evidence for each in result.effects}
    assert "strong" in words
    assert "none" in words
    for each in result.effects:
        assert (each.evidence in ("strong", "fair")) == each.adjusted.finding


def test_the_finding_names_what_was_planted_and_not_what_does_nothing(answer):
    assert "no topping" in answer["finding"] or "water-soluble film" in answer["finding"]
    assert "backing supplier Birch" in answer["finding"]
    assert "99 % interval" in answer["finding"]
    assert "density" not in answer["finding"]


def test_words_are_for_people(answer):
    said = " ".join([answer["finding"], *answer["lines"], *answer["notes"]])
    for raw in ("water_soluble_film", "backing_supplier", "density_band", "cut_away", "needle_nm"):
        assert raw not in said
    assert all(line.endswith(".") for line in answer["lines"])
    assert len(answer["lines"]) >= sum(each["finding"] for each in answer["effects"])


def test_a_line_has_rates_pieces_and_intervals(result):
    birch = next(line for line in words.lines(result) if line.startswith("Backing supplier: Birch"))
    for part in ("95 % interval", "99 % interval", "against", "pieces inspected", "on all jobs"):
        assert part in birch


def test_nothing_found_is_said_with_what_it_rests_on():
    quiet = planted(runs=500, seed=4, topping=0.0, supplier_effects={"Alder": 0.0, "Birch": 0.0})
    result = asked(quiet.filter(pl.col("fabric") == "twill"))
    assert result.findings == ()
    assert words.headline(result).startswith(
        "No setup factor goes with the rate of puckering by more"
    )
    assert "pieces inspected" in words.headline(result)


def test_nothing_varied_is_said_so():
    alike = planted(runs=200).with_columns(
        *(pl.lit("same").alias(name) for name in ("fabric", "topping", "backing_supplier")),
        pl.lit("cut_away").alias("backing"),
        pl.lit("solid").alias("density_band"),
    )
    result = asked(alike)
    assert result.effects == ()
    assert "nothing to compare" in words.headline(result)
    assert result.table().height == 0
    note = note_of(result, "Always the same")
    assert "Backing (Cut-away)" in note
    assert any(
        note.startswith("Not recorded") and "Hooping" in note for note in words.notes(result)
    )


def test_a_crude_look_that_points_the_other_way_is_warned_of():
    # Birch gets jersey, which puckers most, nearly alone; on each fabric it puckers less.
    cells = planted(runs=1500, seed=8, supplier_effects={"Alder": 0.0, "Birch": -0.7})
    hard, easy = pl.col("fabric") == "jersey T-shirt", pl.col("fabric") == "twill"
    ref = pl.col("run_ref").str.ends_with("1")
    cells = cells.filter(
        (hard & ((pl.col("backing_supplier") == "Birch") | ref))
        | (easy & ((pl.col("backing_supplier") == "Alder") | ref))
    ).with_columns(
        pl.when(hard)
        .then(pl.col("count") * 3)
        .otherwise("count")
        .clip(0, "exposure")
        .alias("count")
    )
    result = asked(cells.with_columns(pl.col("count").cast(pl.Int64)))
    birch = effect(result.as_json(), "backing_supplier", "Birch")
    assert birch["crude_ratio"] > 1 > birch["ratio"]
    assert birch["crude_misleads"]
    [warning] = [each for each in words.pressing(result) if "supplier Birch is higher" in each]
    assert "It got the harder jobs: trust the like-for-like figure." in warning


def test_what_always_goes_together_is_named_in_a_note_and_beside_the_effect():
    cells = planted(seed=1).with_columns(
        pl.when(pl.col("fabric") == "twill")
        .then(pl.lit("clamped"))
        .when(pl.col("run_ref").str.ends_with("1"))
        .then(pl.lit("floated"))
        .otherwise(pl.lit("hooped"))
        .alias("hooping")
    )
    answer = told(asked(cells))
    assert answer["never_apart"][0]["levels"] == ["twill", "clamped"]
    assert any(
        note.startswith("Fabric twill and hooping clamped always go together")
        for note in answer["notes"]
    )
    assert effect(answer, "fabric", "twill")["inseparable_from"] == ["hooping clamped"]
    clamped = effect(answer, "hooping", "clamped")
    assert clamped["inseparable_from"] == ["fabric twill"]
    for name in ("adjusted_rate", "adjusted_interval", "ratio", "ratio_interval", "p_value"):
        assert clamped[name] is None
    assert clamped["evidence"] is None
    assert clamped["like_for_like_share"] == 0
    assert any(
        note.startswith("On no jobs on which the others were used too")
        and "hooping clamped" in note
        for note in answer["notes"]
    )
    assert answer["effects"][-1] == clamped


def test_levels_hardly_used_on_like_jobs_are_named():
    mostly = planted().with_columns(
        pl.when(pl.col("fabric") == "twill")
        .then(pl.lit("heat_away_film"))
        .when((pl.col("fabric") == "pique polo") & pl.col("run_ref").str.ends_with("3"))
        .then(pl.lit("heat_away_film"))
        .otherwise("topping")
        .alias("topping")
    )
    note = note_of(asked(mostly), "Less than half")
    assert "topping heat-away film" in note


def test_levels_without_a_defect_say_what_they_rest_on():
    clean = pl.col("run_ref").str.ends_with("77")
    cells = planted().with_columns(
        pl.when(clean).then(pl.lit("heat_away_film")).otherwise("topping").alias("topping"),
        pl.when(clean).then(0).otherwise("count").alias("count"),
    )
    answer = told(asked(cells))
    film = effect(answer, "topping", "heat_away_film")
    assert film["crude_ratio"] is None
    [note] = [each for each in answer["notes"] if each.startswith("Without a single one")]
    assert f"topping heat-away film (0 in {film['pieces_inspected']:,} pieces inspected" in note


def test_what_is_not_recorded_is_left_out_and_said_so():
    unsaid = planted().with_columns(
        pl.when(pl.col("run_ref").str.ends_with("7"))
        .then(None)
        .otherwise("topping")
        .alias("topping")
    )
    result = asked(unsaid)
    note = note_of(result, "do not say a level")
    assert "Topping (10 %)" in note


def test_events_are_per_stitch_with_per_100k_beside():
    result = asked(planted(kind="thread_breaks", exposure_unit=1000.0), kind=BREAKS)
    answer = told(result)
    for each in answer["effects"]:
        assert each["pieces_inspected"] is None
        assert each["crude_rate"] == pytest.approx(each["count"] / each["stitches_sewn"])
        assert each["per_100k_stitches"] == pytest.approx(each["crude_rate"] * 100_000)
    assert "stitches" in answer["finding"]
    assert any("counted per stitch" in note for note in answer["notes"])


def test_curves_are_in_the_answer_in_rising_order(answer):
    [curve] = answer["curves"]
    assert curve["factor"] == "density_band"
    assert [point["level"] for point in curve["points"]] == ["solid", "close", "layered"]
    for point in curve["points"]:
        lower, upper = point["adjusted_interval"]
        assert lower < point["adjusted_rate"] < upper


def test_the_table_has_a_row_a_level(result):
    table = result.table()
    assert table.height == len(result.effects)
    assert table["factor"][0] == result.effects[0].factor_label
    assert table["ratio"].to_list() == [
        None if math.isnan(each.adjusted.ratio) else each.adjusted.ratio for each in result.effects
    ]


@pytest.mark.parametrize(("suppliers", "said"), [(("alder", "Birch"), 1), (("Alder", "Elm"), 0)])
def test_suppliers_of_one_mill_are_pointed_out(cells, suppliers, said):
    shop = Shop(same_mill=(SameMill(suppliers, "cut_away"),))
    notes = [
        note for note in words.notes(asked(cells, shop=shop)) if "same mill's cut-away" in note
    ]
    assert len(notes) == said


def test_faults_of_the_fabric_are_no_setups_doing():
    result = asked(planted(kind="fabric_faults"), kind=kind("fabric_faults"))
    assert any("no setup can be blamed" in note for note in words.notes(result))


def test_too_few_defects_are_refused(cells):
    with pytest.raises(TooLittleData):
        asked(cells.with_columns(pl.lit(0).alias("count")))
    with pytest.raises(TooLittleData):
        asked(cells.clear())


def test_cells_without_a_factor_are_refused(cells):
    with pytest.raises(AnalysisError, match="topping"):
        asked(cells.drop("topping"))
