"""What holds for every control chart and every Pareto order, whatever was counted."""

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.questions.control import analyse as control
from logbook.questions.costs import analyse as pareto
from logbook.shop import Shop
from logbook.vocabulary.defects import DEFECT_KINDS, kind

SHOP = Shop()
CHARGED = [each.name for each in DEFECT_KINDS if each.charged_to_setup]


@st.composite
def weeks(draw):
    exposure = draw(st.lists(st.integers(1, 500), min_size=2, max_size=30))
    return pl.DataFrame(
        {
            "week": [f"2026-W{number:02d}" for number in range(1, len(exposure) + 1)],
            "runs": [1] * len(exposure),
            "exposure": [float(each) for each in exposure],
            "count": [draw(st.integers(0, each)) for each in exposure],
        }
    )


@st.composite
def long_cells(draw):
    rows = draw(
        st.lists(
            st.tuples(
                st.sampled_from([*CHARGED, "fabric_faults", "any"]),
                st.integers(0, 50),
                st.one_of(st.none(), st.floats(0, 20)),
                st.one_of(st.none(), st.floats(0, 200)),
            ),
            min_size=1,
            max_size=30,
        ).filter(lambda rows: any(row[0] != "any" for row in rows))
    )
    return pl.DataFrame(
        [
            {
                "kind": name,
                "machine": f"M{number}",
                "runs": 1,
                "exposure": 100.0,
                "count": count,
                "spoiled": spoiled,
                "reworked": None,
                "rework_minutes": minutes,
            }
            for number, (name, count, spoiled, minutes) in enumerate(rows)
        ],
        schema_overrides={
            "spoiled": pl.Float64,
            "reworked": pl.Float64,
            "rework_minutes": pl.Float64,
        },
    )


@given(weeks(), st.randoms(use_true_random=False), st.sampled_from(["auto", "plain", "laney"]))
def test_the_order_of_rows_does_not_matter_to_a_chart(cells, random, spread):
    rows = cells.rows(named=True)
    random.shuffle(rows)
    shuffled = pl.DataFrame(rows, schema=cells.schema)
    one = control.analyse(cells, kind=kind("gaps"), by="week", spread=spread)
    other = control.analyse(shuffled, kind=kind("gaps"), by="week", spread=spread)
    assert one.as_json() == other.as_json()


@given(weeks(), st.sampled_from([2.0, 8.0, 1024.0]))
def test_exposure_times_k_divides_event_rates_and_keeps_the_signals(cells, k):
    # Powers of two, so that no rounding moves a point across its limit.
    scaled = cells.with_columns(pl.col("exposure") * k)
    one = control.analyse(cells, kind=kind("thread_breaks"), by="week")
    other = control.analyse(scaled, kind=kind("thread_breaks"), by="week")
    assert other.centre * k == pytest.approx(one.centre)
    np.testing.assert_allclose(other.points["upper"] * k, one.points["upper"], rtol=1e-9)
    assert other.points["signals"].to_list() == one.points["signals"].to_list()


@given(weeks())
def test_labels_do_not_matter_to_a_chart(cells):
    months = cells.with_columns(
        month=pl.Series([f"{2000 + number}-01" for number in range(cells.height)])
    ).drop("week")
    one = control.analyse(cells, kind=kind("gaps"), by="week").points.drop("label")
    other = control.analyse(months, kind=kind("gaps"), by="month").points.drop("label")
    assert one.equals(other)


@given(long_cells(), st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_matter_to_a_pareto(cells, random):
    rows = cells.rows(named=True)
    random.shuffle(rows)
    shuffled = pl.DataFrame(rows, schema=cells.schema)
    one = pareto.analyse(cells, shop=SHOP)
    assert one.as_json() == pareto.analyse(shuffled, shop=SHOP).as_json()


@given(long_cells(), st.sampled_from(["cost", "count"]))
def test_shares_add_up_to_the_whole(cells, order):
    ranked = pareto.analyse(cells, shop=SHOP, order=order).costed
    known = [each.share_of_cost for each in ranked.kinds if each.share_of_cost >= 0]
    if known:
        assert sum(known) == pytest.approx(1.0)
    if ranked.total_count:
        assert sum(each.share_of_count for each in ranked.kinds) == pytest.approx(1.0)
    running = [each.cumulative_share for each in ranked.kinds if each.cumulative_share >= 0]
    assert running == sorted(running)


@given(long_cells())
def test_pooling_first_changes_no_cost(cells):
    whole = pareto.analyse(cells, shop=SHOP).costed
    by_kind = cells.group_by("kind").agg(
        pl.col("runs", "exposure", "count").sum(),
        *(
            pl.when(pl.col(name).count() > 0).then(pl.col(name).sum()).alias(name)
            for name in ("spoiled", "reworked", "rework_minutes")
        ),
    )
    pooled = pareto.analyse(by_kind, shop=SHOP).costed
    assert pooled.total_cost == pytest.approx(whole.total_cost, nan_ok=True)
    assert {each.kind.name: each.cost for each in pooled.kinds} == pytest.approx(
        {each.kind.name: each.cost for each in whole.kinds}, nan_ok=True
    )
