"""What holds for every comparison of suppliers, whatever was sewn for whom."""

import polars as pl
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from logbook.questions.suppliers import words
from logbook.questions.suppliers.analyse import analyse
from logbook.shop import Shop
from logbook.vocabulary.defects import kind

SHOP = Shop()
NAMES = ("Alder", "Birch", "Cedar")
KEYS = ["backing_supplier", "fabric", "backing", "weight_band", "backing_lot"]


@st.composite
def shops(draw):
    """Cells in which the first two suppliers at least are there."""
    rows = draw(
        st.lists(
            st.tuples(
                st.sampled_from(NAMES),
                st.sampled_from(["polo", "fleece", "twill", None]),
                st.sampled_from(["cut_away", "tear_away"]),
                st.sampled_from(["light", "heavy", None]),
                st.sampled_from(["L1", "L2", None]),
            ),
            min_size=2,
            max_size=25,
            unique=True,
        ).filter(lambda rows: {"Alder", "Birch"} <= {row[0] for row in rows})
    )
    exposure = [draw(st.integers(1, 400)) for _ in rows]
    frame = pl.DataFrame(rows, schema=dict.fromkeys(KEYS, pl.String), orient="row")
    return frame.with_columns(
        pl.Series("runs", [draw(st.integers(1, 5)) for _ in rows], dtype=pl.Int64),
        pl.Series("exposure", [float(each) for each in exposure]),
        pl.Series("count", [draw(st.integers(0, each)) for each in exposure], dtype=pl.Int64),
    )


def compared(cells, *, reference="Alder", name="puckering"):
    return analyse(cells, kind=kind(name), shop=SHOP, reference=reference)


def row_of(result, supplier):
    return next(row for row in result.as_json()["suppliers"] if row["supplier"] == supplier)


def same(one, other):
    assert one == pytest.approx(other, rel=1e-8, abs=1e-10)


@given(shops())
def test_swapping_supplier_and_reference_negates_and_inverts(cells):
    one = row_of(compared(cells, reference="Alder"), "Birch")["mantel_haenszel"]
    other = row_of(compared(cells, reference="Birch"), "Alder")["mantel_haenszel"]
    assume(one["risk_difference"] is not None)
    same(one["risk_difference"], -other["risk_difference"])
    if one["risk_difference_interval"] is not None:
        same(one["risk_difference_interval"], [-x for x in other["risk_difference_interval"][::-1]])
    for name in ("odds_ratio", "risk_ratio"):
        if one[name] and other[name]:
            same(one[name] * other[name], 1.0)
    assert (one["homogeneity_p"] is None) == (other["homogeneity_p"] is None)
    if one["homogeneity_p"] is not None:
        assert one["homogeneity_p"] == pytest.approx(other["homogeneity_p"], rel=1e-6)


@given(shops())
def test_swapping_keeps_who_is_misled(cells):
    one = compared(cells.filter(pl.col("backing_supplier") != "Cedar"), reference="Alder")
    other = compared(cells.filter(pl.col("backing_supplier") != "Cedar"), reference="Birch")
    assert row_of(one, "Birch")["crude_misleads"] == row_of(other, "Alder")["crude_misleads"]


@given(shops(), st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_matter(cells, random):
    rows = cells.rows()
    random.shuffle(rows)
    shuffled = pl.DataFrame(rows, schema=cells.schema, orient="row")
    assert compared(cells).as_json() == compared(shuffled).as_json()


@given(shops())
def test_names_of_fabrics_and_lots_do_not_matter(cells):
    # The order of the names is kept, so that strata are summed in the same order.
    renamed = cells.with_columns(
        ("cloth of " + pl.col("fabric")).alias("fabric"),
        (pl.col("backing_lot") + "/26").alias("backing_lot"),
    )
    one, other = compared(cells).as_json(), compared(renamed).as_json()
    assert one["suppliers"] == other["suppliers"]


@given(shops())
def test_names_of_suppliers_do_not_matter(cells):
    renamed = cells.with_columns(
        pl.col("backing_supplier").replace({"Alder": "Yew", "Birch": "Rowan", "Cedar": "Willow"})
    )
    one = compared(cells, reference="Alder")
    other = compared(renamed, reference="Yew")
    for before, after in (("Birch", "Rowan"), ("Alder", "Yew")):
        first, second = row_of(one, before), row_of(other, after)
        assert {**first, "supplier": ""} == {**second, "supplier": ""}


@given(shops(), st.data())
def test_splitting_a_cell_in_two_changes_nothing(cells, data):
    row = cells.row(data.draw(st.integers(0, cells.height - 1)), named=True)
    exposure, count, runs = int(row["exposure"]), row["count"], row["runs"]
    assume(exposure > 1)
    first = data.draw(st.integers(1, exposure - 1))
    counted = data.draw(st.integers(max(0, count - (exposure - first)), min(count, first)))
    ran = data.draw(st.integers(0, runs))
    halves = [
        row | {"exposure": float(first), "count": counted, "runs": ran},
        row | {"exposure": float(exposure - first), "count": count - counted, "runs": runs - ran},
    ]
    keys = [pl.col(name).eq_missing(pl.lit(row[name], dtype=pl.String)) for name in KEYS]
    rest = cells.filter(~pl.all_horizontal(keys))
    split = pl.concat([rest, pl.DataFrame(halves, schema=cells.schema)])
    assert compared(split).as_json() == compared(cells).as_json()


@given(shops(), st.sampled_from([2.0, 8.0, 1024.0]))
def test_exposure_times_k_divides_event_rates_and_keeps_ratios(cells, k):
    one = row_of(compared(cells, name="thread_breaks"), "Birch")
    scaled = cells.with_columns(pl.col("exposure") * k)
    other = row_of(compared(scaled, name="thread_breaks"), "Birch")
    same(one["crude_rate"], other["crude_rate"] * k)
    assert one["crude_misleads"] == other["crude_misleads"]
    first, second = one["mantel_haenszel"], other["mantel_haenszel"]
    assert (first["rate_ratio"] is None) == (second["rate_ratio"] is None)
    if first["rate_ratio"] is not None:
        same(first["rate_ratio"], second["rate_ratio"])
    if first["rate_difference"] is not None:
        same(first["rate_difference"], second["rate_difference"] * k)


@given(shops())
def test_nothing_is_lost_between_suppliers_and_strata(cells):
    answer = compared(cells).as_json()
    for name in ("runs", "pieces_inspected", "count"):
        whole = sum(row[name] for row in answer["suppliers"])
        assert whole == sum(row[name] for row in answer["strata"])
    assert sum(row["count"] for row in answer["strata"]) == cells["count"].sum()


@given(shops())
def test_words_can_always_be_said(cells):
    result = compared(cells)
    assert words.headline(result).endswith(".")
    assert len(words.sentences(result)) == len(result.suppliers) == result.table().height
    said = (*words.sentences(result), *words.pressing(result), *words.notes(result))
    assert all(sentence.endswith(".") for sentence in said)
