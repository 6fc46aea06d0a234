"""What never varies apart is found, and what does is not."""

import polars as pl
import pytest
from planted_cells import planted

from logbook.adjusted_comparison import adjusted_factors
from logbook.vocabulary.defects import kind

PUCKERING = kind("puckering")
FABRIC = pl.col("fabric")


def aliased(cells):
    return adjusted_factors(cells, kind=PUCKERING).aliased


def with_needle(expression):
    return planted(runs=400).with_columns(expression.cast(pl.String).alias("needle_nm"))


def test_factors_that_vary_apart_are_not_named():
    assert aliased(planted(runs=400)) == ()


def test_two_factors_that_are_one_are_named_as_wholes():
    [pair] = aliased(
        with_needle(FABRIC.replace_strict({"twill": 90, "pique polo": 75, "jersey T-shirt": 70}))
    )
    assert {pair.factor, pair.other} == {"fabric", "needle_nm"}
    assert (pair.level, pair.other_level, pair.share) == (None, None, 1.0)
    assert pair.both_ways
    assert pair.runs == 400


def test_a_factor_determined_by_another_is_named_one_way():
    [pair] = aliased(
        with_needle(FABRIC.replace_strict({"twill": 90, "pique polo": 75, "jersey T-shirt": 75}))
    )
    assert (pair.factor, pair.other, pair.both_ways) == ("fabric", "needle_nm", False)


def test_one_level_of_each_that_go_together_are_named():
    twill = FABRIC == "twill"
    other = pl.when(pl.col("run_ref").str.ends_with("1")).then(75).otherwise(70)
    [pair] = aliased(with_needle(pl.when(twill).then(90).otherwise(other)))
    assert (pair.factor, pair.level) == ("fabric", "twill")
    assert (pair.other, pair.other_level) == ("needle_nm", "90")
    assert pair.share == 1.0
    assert pair.runs == planted(runs=400).filter(twill).height


@pytest.mark.parametrize(("strays", "named"), [(2, True), (40, False)])
def test_a_few_strays_do_not_tell_two_levels_apart(strays, named):
    twill = FABRIC == "twill"
    stray = twill & (twill.cast(pl.Int64).cum_sum() <= strays)
    other = pl.when(pl.col("run_ref").str.ends_with("1")).then(75).otherwise(70)
    found = aliased(with_needle(pl.when(twill & ~stray).then(90).otherwise(other)))
    assert bool(found) is named
    if named:
        assert 0.95 <= found[0].share < 1


def test_a_supplier_of_one_lot_is_named_with_it():
    cells = planted(runs=400).with_columns(
        pl.when(pl.col("backing_supplier") == "Cedar")
        .then(pl.lit("C1"))
        .otherwise("backing_lot")
        .alias("backing_lot"),
        pl.when(pl.col("backing_supplier") == "Cedar")
        .then(pl.lit("cut_away"))
        .otherwise("backing")
        .alias("backing"),
    )
    [pair] = aliased(cells)
    assert (pair.factor, pair.level, pair.other, pair.other_level) == (
        *("backing_supplier", "Cedar"),
        *("lot", "C1"),
    )


def test_what_is_not_recorded_goes_with_nothing():
    unsaid = pl.col("run_ref").str.ends_with("7")
    cells = planted(runs=400).with_columns(
        pl.when(unsaid).then(None).otherwise(pl.lit("75")).alias("needle_nm"),
        pl.when(unsaid).then(None).otherwise("topping").alias("topping"),
    )
    assert aliased(cells) == ()


def test_no_backing_and_no_layers_say_nothing_new():
    bare = pl.col("run_ref").str.ends_with("7")
    cells = planted(runs=400).with_columns(
        pl.when(bare).then(pl.lit("none")).otherwise("backing").alias("backing"),
        pl.when(bare)
        .then(pl.lit("0"))
        .when(pl.col("run_ref").str.ends_with("3"))
        .then(pl.lit("2"))
        .otherwise(pl.lit("1"))
        .alias("backing_layers"),
    )
    assert not [pair for pair in aliased(cells) if pair.other == "backing_layers"]
