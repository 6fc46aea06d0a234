import math

import polars as pl
import pytest
from planted_cells import planted

from logbook.adjusted_comparison import CELLS_BY, adjusted_suppliers
from logbook.adjusted_comparison.rows import coded_rows
from logbook.adjusted_comparison.terms import LOT, SUPPLIER, terms_for
from logbook.errors import AnalysisError, TooLittleData
from logbook.kernels.setup_model import NO_LEVEL
from logbook.vocabulary.defects import kind

PUCKERING, BREAKS = kind("puckering"), kind("thread_breaks")


@pytest.fixture(scope="module")
def cells():
    return planted()


def test_a_planted_difference_is_found_and_equals_are_left_equal(cells):
    found = adjusted_suppliers(cells, kind=PUCKERING, reference="Alder", margin=0.001)
    assert list(found) == ["Alder", "Birch", "Cedar"]
    birch, cedar = found["Birch"], found["Cedar"]
    assert birch.verdict == "worse"
    assert birch.difference_interval[0] > 0
    assert (birch.pieces_needed, birch.lots_needed) == (0, 0)
    assert birch.rate - birch.reference_rate == pytest.approx(birch.difference)
    assert birch.rate_interval[0] < birch.rate < birch.rate_interval[1]
    assert cedar.difference_interval[0] < 0 < cedar.difference_interval[1]
    assert cedar.verdict == "not_enough_data"
    assert cedar.pieces_needed is None or cedar.pieces_needed > 0
    assert "all 2 hold together" in found["Alder"].notes[0]
    assert math.isnan(found["Alder"].difference)
    assert found["Alder"].lot_sd == pytest.approx(0.25, abs=0.15)


def test_the_other_way_round_the_difference_turns_its_sign(cells):
    two = cells.filter(pl.col("backing_supplier") != "Cedar")
    one = adjusted_suppliers(two, kind=PUCKERING, reference="Alder")["Birch"]
    other = adjusted_suppliers(two, kind=PUCKERING, reference="Birch")["Alder"]
    assert one.difference == pytest.approx(-other.difference, rel=1e-6)
    assert one.difference_interval[0] == pytest.approx(-other.difference_interval[1], rel=1e-6)
    assert {one.verdict, other.verdict} == {"worse", "better"}


def test_order_of_runs_and_spelling_of_levels_do_not_matter(cells):
    two = cells.filter(pl.col("backing_supplier") != "Cedar")
    again = two.sample(fraction=1, shuffle=True, seed=2).with_columns(
        pl.col("fabric").replace("twill", "zibeline")
    )
    one = adjusted_suppliers(two, kind=PUCKERING, reference="Alder")["Birch"]
    other = adjusted_suppliers(again, kind=PUCKERING, reference="Alder")["Birch"]
    assert one.difference == pytest.approx(other.difference, rel=1e-6)


def test_events_are_compared_per_stitch_and_without_a_margin():
    cells = planted(kind="thread_breaks", exposure_unit=1000.0)
    found = adjusted_suppliers(cells, kind=BREAKS, reference="Alder", margin=0.5)
    crude = cells["count"].sum() / cells["exposure"].sum()
    assert found["Alder"].rate == pytest.approx(crude, rel=0.5)
    assert found["Birch"].verdict == "worse"
    assert found["Cedar"].verdict == "not_enough_data"


def test_one_backing_only_speaks_of_its_own_pieces(cells):
    found = adjusted_suppliers(cells, kind=PUCKERING, backing="sheer_mesh", reference="Alder")
    mesh = cells.filter(pl.col("backing") == "sheer_mesh")
    assert found["Birch"].shared_pieces == mesh["exposure"].sum()


def test_without_a_reference_it_is_the_one_with_the_most_pieces(cells):
    most = cells.group_by("backing_supplier").agg(pl.col("exposure").sum()).sort("exposure")
    assert next(iter(adjusted_suppliers(cells, kind=PUCKERING))) == most["backing_supplier"][-1]


def test_suppliers_without_a_shared_job_are_not_compared(cells):
    apart = cells.with_columns(
        pl.when(pl.col("backing_supplier") == "Cedar")
        .then(pl.lit("felt"))
        .otherwise("fabric")
        .alias("fabric")
    )
    found = adjusted_suppliers(apart, kind=PUCKERING, reference="Alder")
    assert found["Cedar"].verdict is None
    assert found["Cedar"].pieces_needed is None
    assert "share no fabric and backing" in found["Cedar"].notes[0]
    assert found["Birch"].verdict is not None


def test_a_lone_supplier_has_nothing_to_be_compared_with(cells):
    lone = cells.filter(pl.col("backing_supplier") == "Alder")
    found = adjusted_suppliers(lone, kind=PUCKERING)
    assert list(found) == ["Alder"]
    assert math.isnan(found["Alder"].rate)
    nobody = cells.with_columns(pl.lit(None, pl.String).alias("backing_supplier"))
    assert adjusted_suppliers(nobody, kind=PUCKERING) == {}


def test_lots_are_those_of_their_supplier_and_unwritten_ones_are_one(cells):
    part = cells.with_columns(
        pl.when(pl.col("backing_lot").is_in(["L0", "L1"]))
        .then(None)
        .otherwise("backing_lot")
        .alias("backing_lot")
    )
    assert len(coded_rows(cells, kind=PUCKERING).levels[LOT]) == 3 * 2 * 6
    rows = coded_rows(part, kind=PUCKERING)
    assert len(rows.levels[LOT]) == 3 * 2 * 5
    assert sum(rows.lot_recorded) == 3 * 2 * 4
    notes = adjusted_suppliers(part, kind=PUCKERING, reference="Alder")["Alder"].notes
    assert any("name no lot of backing" in note for note in notes)


def test_a_supplier_with_one_lot_or_none_written_down_is_said_so(cells):
    one = cells.with_columns(
        pl.when(pl.col("backing_supplier") == "Birch")
        .then(pl.lit("B1"))
        .when(pl.col("backing_supplier") == "Cedar")
        .then(None)
        .otherwise("backing_lot")
        .alias("backing_lot")
    )
    found = adjusted_suppliers(
        one, kind=PUCKERING, backing="sheer_mesh", reference="Alder", margin=0.005
    )
    assert "from one lot" in found["Birch"].notes[0]
    assert "from no recorded lot" in found["Cedar"].notes[0]
    alone = cells.with_columns(pl.lit(None, pl.String).alias("backing_lot"))
    assert math.isnan(adjusted_suppliers(alone, kind=PUCKERING)["Alder"].lot_sd)


def test_runs_without_backing_have_neither_supplier_nor_lot(cells):
    bare = cells.with_columns(
        pl.when(pl.col("backing") == "cut_away")
        .then(pl.lit("none"))
        .otherwise("backing")
        .alias("backing")
    )
    rows = coded_rows(bare, kind=PUCKERING)
    none = rows.setups.factors["backing"] == rows.code("backing", "none")
    assert (rows.setups.factors[SUPPLIER][none] == NO_LEVEL).all()
    assert (rows.setups.factors[LOT][none] == NO_LEVEL).all()


def test_what_is_not_recorded_is_a_level_of_its_own(cells):
    vague = cells.with_columns(
        pl.when(pl.col("topping") == "none").then(None).otherwise("topping").alias("topping"),
        pl.lit(None, pl.String).alias("density_band"),
    )
    rows = coded_rows(vague, kind=PUCKERING)
    assert set(rows.levels["topping"]) == {None, "water_soluble_film"}
    assert "topping" in rows.varying
    assert "density" not in rows.varying
    assert not any(term.slope for term in terms_for("comparing", rows.varying))


def test_what_cannot_be_answered_is_said(cells):
    with pytest.raises(AnalysisError, match="'Elm'"):
        adjusted_suppliers(cells, kind=PUCKERING, reference="Elm")
    with pytest.raises(AnalysisError, match="lack 'topping'"):
        adjusted_suppliers(cells.drop("topping"), kind=PUCKERING)
    with pytest.raises(TooLittleData) as raised:
        adjusted_suppliers(cells.with_columns(pl.lit(0).alias("count")), kind=PUCKERING)
    assert (raised.value.needed, raised.value.got) == (5, 0)


def test_cells_by_names_what_runs_can_be_grouped_by():
    from logbook.cells import GROUPINGS

    assert set(CELLS_BY) <= set(GROUPINGS)


def test_where_no_lot_is_recorded_nobody_elses_are_claimed_to_be_known(cells):
    none = cells.with_columns(backing_lot=pl.lit(None, pl.String))
    found = adjusted_suppliers(none, kind=PUCKERING, reference="Alder")
    assert math.isnan(found["Birch"].lot_sd)
    assert "how lots differ is not on record at all" in found["Birch"].notes[0]


def test_every_piece_defective_is_too_little_to_compare_by(cells):
    whole = cells.with_columns(count="exposure")
    with pytest.raises(TooLittleData, match="every piece counts"):
        adjusted_suppliers(whole, kind=PUCKERING, reference="Alder")
