import json

import polars as pl
import pytest

from logbook.errors import TooLittleData
from logbook.questions.costs.analyse import analyse
from logbook.questions.costs.words import headline, notes
from logbook.shop import Costs, Shop

SHOP = Shop(
    currency="EUR",
    costs=Costs(piece_value=20.0, labour_minute=0.5, minutes_per_thread_break=1.5),
    costs_assumed=False,
)
LOSSES = ("spoiled", "reworked", "rework_minutes")


def cells(*rows):
    """Rows of kind, count, exposure and pieces spoiled."""
    names = ("kind", "count", "exposure", "spoiled")
    frame = pl.DataFrame(
        [dict(zip(names, row, strict=True)) for row in rows],
        schema={
            "kind": pl.String,
            "count": pl.Int64,
            "exposure": pl.Float64,
            "spoiled": pl.Float64,
        },
    )
    return frame.with_columns(
        pl.lit(4).alias("runs"),
        pl.lit(None, dtype=pl.Float64).alias("reworked"),
        pl.lit(None, dtype=pl.Float64).alias("rework_minutes"),
    )


def test_the_dearest_kind_is_named_with_what_it_rests_on():
    result = analyse(
        cells(
            ("puckering", 40, 1000.0, 1.0), ("gaps", 10, 1000.0, 8.0), ("looping", 5, 1000.0, 1.0)
        ),
        shop=SHOP,
    )
    assert headline(result) == (
        "Gaps between areas cost most: EUR 160.00 of EUR 200.00 (80 %), from 10 of 1,000 pieces "
        "inspected (1.0 %, 95 % interval 0.5 to 1.8 %). The first kind makes up 80 % of the cost."
    )


def test_shares_and_running_sums_are_in_the_answer():
    answer = analyse(
        cells(("gaps", 10, 1000.0, 6.0), ("thread_breaks", 40, 1e6, None)), shop=SHOP
    ).as_json()
    gaps, breaks = answer["kinds"]
    # 6 pieces at 20; 40 breaks of 1.5 minutes at 0.5 + 6/60.
    assert (gaps["cost"], breaks["cost"]) == pytest.approx((120.0, 36.0))
    assert breaks["cumulative_share"] == pytest.approx(1.0)
    assert breaks["per_100k_stitches"] == pytest.approx(4.0)
    assert gaps["per_100k_stitches"] is None
    assert breaks["interval"][0] < 4e-5 < breaks["interval"][1]
    json.dumps(answer, allow_nan=False)


def test_without_losses_the_order_is_by_count_and_costs_are_null():
    result = analyse(cells(("gaps", 3, 500.0, None), ("puckering", 9, 500.0, None)), shop=SHOP)
    answer = result.as_json()
    assert answer["ordered_by"] == "count"
    assert [row["kind"] for row in answer["kinds"]] == ["puckering", "gaps"]
    assert answer["kinds"][0]["cost"] is None
    assert answer["kinds"][0]["spoiled"] is None
    assert answer["total_cost"] is None
    assert "fill in pieces_spoiled" in notes(result)[0]
    assert headline(result).startswith("Puckering came up most: 9 of 500 pieces inspected (1.8 %")


def test_faults_from_the_mill_are_told_apart():
    result = analyse(cells(("fabric_faults", 30, 500.0, 0.0), ("gaps", 3, 500.0, 1.0)), shop=SHOP)
    answer = result.as_json()
    assert [row["kind"] for row in answer["kept_apart"]] == ["fabric_faults"]
    assert answer["kinds"][0]["share_of_cost"] == 1.0
    assert "charged to no setup" in notes(result)[-1]
    assert "30 of 500 pieces inspected (6.0 %" in notes(result)[-1]
    assert result.table()["kept_apart"].to_list() == [False, True]


def test_pieces_and_events_counted_together_are_flagged():
    result = analyse(
        cells(("gaps", 3, 500.0, 1.0), ("thread_breaks", 9, 1e6, None)), shop=SHOP, order="count"
    )
    assert notes(result) == (
        "Counts of pieces and counts of events are ranked together: read with care.",
    )


def test_assumed_costs_are_said_to_be():
    result = analyse(cells(("gaps", 3, 500.0, 1.0)), shop=Shop())
    assert any("not this shop's" in note for note in notes(result))


def test_a_kind_without_record_of_losses_is_named():
    result = analyse(cells(("gaps", 3, 500.0, 1.0), ("looping", 8, 500.0, None)), shop=SHOP)
    assert "in no share: Looping." in notes(result)[0]


def test_no_defect_at_all_is_good_news_not_an_error():
    result = analyse(cells(("gaps", 0, 500.0, 0.0)), shop=SHOP)
    assert headline(result) == "No defect was counted."


def test_defects_that_cost_nothing_are_said_so():
    result = analyse(cells(("gaps", 4, 500.0, 0.0)), shop=SHOP)
    assert headline(result).startswith("No cost was recorded for any defect; Gaps between areas")
    assert result.as_json()["kinds"][0]["share_of_cost"] is None


def test_no_cells_are_too_little():
    with pytest.raises(TooLittleData, match="of any kind"):
        analyse(cells(), shop=SHOP)


def test_the_table_has_the_bounds_as_columns():
    table = analyse(cells(("gaps", 10, 1000.0, 6.0)), shop=SHOP).table()
    row = table.row(0, named=True)
    assert row["lower"] < row["rate"] < row["upper"]
    assert row["cost"] == pytest.approx(120.0)
