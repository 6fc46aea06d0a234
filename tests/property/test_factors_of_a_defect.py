"""What holds of every answer to what goes with a defect."""

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planted_cells import planted

from logbook.questions.factors.analyse import analyse
from logbook.shop import Shop
from logbook.vocabulary.defects import kind

FEW = settings(max_examples=12, deadline=None)
"""Each example is a fit."""

shops = st.builds(
    planted,
    runs=st.integers(120, 300),
    seed=st.integers(0, 10_000),
    topping=st.sampled_from([-1.5, 0.0, 0.7]),
)


def asked(cells, name="puckering"):
    return analyse(cells, kind=kind(name), shop=Shop())


@FEW
@given(shops, st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_matter(cells, random):
    rows = cells.rows()
    random.shuffle(rows)
    shuffled = pl.DataFrame(rows, schema=cells.schema, orient="row")
    assert asked(cells).as_json() == asked(shuffled).as_json()


@FEW
@given(shops)
def test_names_of_levels_do_not_matter(cells):
    # The order of the names is kept, and with it how the others are laid out along the rows.
    renamed = cells.with_columns(
        ("Mill " + pl.col("backing_supplier")).alias("backing_supplier"),
        ("cloth of " + pl.col("fabric")).alias("fabric"),
    )
    one, other = asked(cells).as_json()["effects"], asked(renamed).as_json()["effects"]
    for before, after in zip(one, other, strict=True):
        assert after["level"].endswith(before["level"])
        for name in ("factor", "runs", "count", "finding"):
            assert before[name] == after[name]
        for name in ("crude_rate", "adjusted_rate", "ratio", "p_value", "q_value"):
            assert before[name] == pytest.approx(after[name], rel=1e-9)


@FEW
@given(shops)
def test_levels_share_out_all_runs_of_a_factor_that_is_recorded(cells):
    answer = asked(cells).as_json()
    for factor in {each["factor"] for each in answer["effects"]}:
        own = [each for each in answer["effects"] if each["factor"] == factor]
        assert sum(each["runs"] for each in own) == cells["runs"].sum()
        assert sum(each["count"] for each in own) == cells["count"].sum() == answer["count"]


@FEW
@given(shops)
def test_figures_are_what_they_say(cells):
    for each in asked(cells).as_json()["effects"]:
        assert 0 <= each["like_for_like_share"] <= 1
        if each["ratio"] is None:
            assert not each["finding"]
            continue
        lower, upper = each["ratio_interval"]
        assert lower < each["ratio"] < upper
        assert each["adjusted_interval"][0] < each["adjusted_rate"] < each["adjusted_interval"][1]
        assert each["ratio"] == pytest.approx(each["adjusted_rate"] / each["others_adjusted_rate"])
        assert each["p_value"] <= each["q_value"] * (1 + 1e-9)
        assert each["q_value"] <= 1
        assert each["finding"] == (each["q_value"] <= 0.1)


@FEW
@given(shops, st.sampled_from([2.0, 8.0]))
def test_exposure_times_k_divides_event_rates_and_keeps_ratios(cells, k):
    cells = cells.with_columns(pl.lit("thread_breaks").alias("kind"))
    one = asked(cells.with_columns(pl.col("exposure") * 1000), "thread_breaks").as_json()
    many = cells.with_columns(pl.col("exposure") * 1000 * k)
    other = asked(many, "thread_breaks").as_json()
    levels = {(each["factor"], each["level"]): each for each in other["effects"]}
    for before in one["effects"]:
        after = levels[before["factor"], before["level"]]
        assert before["crude_rate"] == pytest.approx(after["crude_rate"] * k)
        assert before["ratio"] == pytest.approx(after["ratio"], rel=0.05)
