import math

import polars as pl
import pytest

from logbook.costing import cost_of, costed
from logbook.errors import AnalysisError
from logbook.shop import Costs, Shop
from logbook.vocabulary.defects import kind

COSTS = Costs(
    piece_value=20.0,
    labour_minute=0.5,
    machine_hour=6.0,
    rework_minutes_per_piece=8.0,
    minutes_per_thread_break=1.5,
)
SHOP = Shop(costs=COSTS)
KINDS = SHOP.kinds


def cell(name, count, *, exposure=500.0, spoiled=None, reworked=None, minutes=None):
    return {
        "kind": name,
        "runs": 5,
        "exposure": exposure,
        "count": count,
        "spoiled": spoiled,
        "reworked": reworked,
        "rework_minutes": minutes,
    }


def frame(*cells):
    schema = {
        "kind": pl.String,
        "runs": pl.Int64,
        "exposure": pl.Float64,
        "count": pl.Int64,
        "spoiled": pl.Float64,
        "reworked": pl.Float64,
        "rework_minutes": pl.Float64,
    }
    return pl.DataFrame(list(cells), schema=schema)


def test_a_piece_kind_costs_what_was_spoiled_and_reworked():
    # 3 pieces at 20, 12 minutes at 0.5, 2 pieces of 8 minutes at 0.5: 60 + 6 + 8.
    cost = cost_of(
        kind("gaps"), costs=COSTS, count=9, spoiled=3.0, reworked=2.0, rework_minutes=12.0
    )
    assert cost == pytest.approx(74.0)


def test_an_event_costs_the_minutes_that_machine_and_operator_stand_still():
    # 10 breaks of 1.5 minutes at 0.5 + 6/60.
    cost = cost_of(
        kind("thread_breaks"), costs=COSTS, count=10, spoiled=0, reworked=0, rework_minutes=0
    )
    assert cost == pytest.approx(9.0)


def test_the_dearest_kind_comes_first_and_shares_add_up():
    result = costed(
        frame(
            cell("puckering", 30, spoiled=1.0),
            cell("gaps", 5, spoiled=4.0),
            cell("thread_breaks", 50, exposure=1e6),
        ),
        kinds=KINDS,
        shop=SHOP,
    )
    assert [each.kind.name for each in result.kinds] == ["gaps", "thread_breaks", "puckering"]
    assert [each.cost for each in result.kinds] == pytest.approx([80.0, 45.0, 20.0])
    assert [each.share_of_cost for each in result.kinds] == pytest.approx(
        [80 / 145, 45 / 145, 20 / 145]
    )
    assert result.kinds[-1].cumulative_share == pytest.approx(1.0)
    assert result.ordered_by == "cost"


def test_ties_in_cost_go_by_count_then_by_the_run_sheet():
    result = costed(
        frame(
            cell("soiling", 4, spoiled=0.0),
            cell("gaps", 4, spoiled=0.0),
            cell("puckering", 2, spoiled=0.0),
            cell("looping", 9, spoiled=0.0),
        ),
        kinds=KINDS,
        shop=SHOP,
    )
    assert [each.kind.name for each in result.kinds] == ["looping", "gaps", "soiling", "puckering"]
    assert all(math.isnan(each.share_of_cost) for each in result.kinds)


def test_without_losses_the_order_falls_back_to_counts():
    result = costed(
        frame(cell("puckering", 3), cell("gaps", 7), cell("thread_breaks", 5, exposure=1e6)),
        kinds=KINDS,
        shop=SHOP,
    )
    assert result.ordered_by == "count"
    assert [each.kind.name for each in result.kinds] == ["gaps", "thread_breaks", "puckering"]
    assert math.isnan(result.kinds[0].cost)
    assert result.kinds[1].cost == pytest.approx(4.5)
    assert math.isnan(result.total_cost)
    assert result.kinds[1].cumulative_share == pytest.approx(12 / 15)


def test_a_kind_whose_cost_cannot_be_said_comes_after_the_rest_and_in_no_share():
    result = costed(
        frame(cell("gaps", 7), cell("puckering", 3, spoiled=1.0), cell("looping", 0)),
        kinds=KINDS,
        shop=SHOP,
    )
    assert [each.kind.name for each in result.kinds] == ["puckering", "gaps", "looping"]
    assert result.total_cost == pytest.approx(20.0)
    assert math.isnan(result.kinds[1].cost)
    assert math.isnan(result.kinds[1].share_of_cost)
    assert result.kinds[-1].cumulative_share == pytest.approx(1.0)


def test_faults_from_the_mill_are_kept_apart():
    result = costed(
        frame(cell("fabric_faults", 90, spoiled=0.0), cell("gaps", 1, spoiled=1.0)),
        kinds=KINDS,
        shop=SHOP,
    )
    assert [each.kind.name for each in result.apart] == ["fabric_faults"]
    assert [each.kind.name for each in result.kinds] == ["gaps"]
    assert result.total_count == 1


def test_any_is_never_counted_beside_its_parts():
    result = costed(
        frame(cell("any", 9, spoiled=5.0), cell("gaps", 9, spoiled=5.0)), kinds=KINDS, shop=SHOP
    )
    assert result.total_cost == pytest.approx(100.0)


def test_cells_of_weeks_are_summed():
    rows = frame(cell("gaps", 2, spoiled=1.0), cell("gaps", 3, spoiled=None))
    (gaps,) = costed(rows, kinds=KINDS, shop=SHOP).kinds
    assert (gaps.count, gaps.runs, gaps.exposure, gaps.spoiled) == (5, 10, 1000.0, 1.0)


def test_no_cells_cost_nothing():
    result = costed(frame(), kinds=KINDS, shop=SHOP)
    assert result.kinds == ()
    assert result.total_cost == 0.0


def test_cells_without_kinds_are_refused():
    with pytest.raises(AnalysisError, match="which kind"):
        costed(frame().drop("kind"), kinds=KINDS, shop=SHOP)
