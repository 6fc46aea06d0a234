"""A published Pareto table by count: the example of 300 data errors in the documentation of
``pareto.chart``, CRAN package qcc 2.7.

Tolerance 1e-6 relative: sums and quotients of whole numbers.
"""

import polars as pl
from cases import load

from logbook.questions.costs.analyse import analyse
from logbook.questions.costs.words import headline, notes
from logbook.shop import Shop
from logbook.vocabulary.defects import DefectKind


def kind(name):
    return DefectKind(
        name=name,
        label=name,
        measure="pieces",
        definition=name,
        usual_levers=(),
        remedies=(),
        source="published example",
        own=True,
    )


def published(order):
    case = load("pareto_qcc_errors")
    counts = case.inputs["counts"]
    cells = pl.DataFrame(
        {
            "kind": list(counts),
            "runs": [1] * len(counts),
            "exposure": [1000.0] * len(counts),
            "count": list(counts.values()),
        }
    ).with_columns(
        pl.lit(None, dtype=pl.Float64).alias(name)
        for name in ("spoiled", "reworked", "rework_minutes")
    )
    kinds = tuple(kind(name) for name in counts)
    return case.expected["table"], analyse(cells, shop=Shop(), kinds=kinds, order=order)


def check(table, result):
    got = result.as_json()["kinds"]
    assert [row["kind"] for row in got] == [row["category"] for row in table]
    assert [row["count"] for row in got] == [row["count"] for row in table]
    for row, expected in zip(got, table, strict=True):
        assert abs(100 * row["share_of_count"] - expected["percent"]) <= 1e-6 * expected["percent"]
        assert (
            abs(100 * row["cumulative_share"] - expected["cum_percent"])
            <= 1e-6 * expected["cum_percent"]
        )


def test_the_published_table_by_count():
    check(*published("count"))


def test_the_same_table_where_no_loss_was_recorded():
    table, result = published("cost")
    check(table, result)
    assert "the order is by count" in notes(result)[0]


def test_three_of_five_make_up_eighty_percent():
    _, result = published("count")
    assert headline(result) == (
        "contact num. came up most: 94 of 1,000 pieces inspected (9.4 %, 95 % interval 7.7 to "
        "11.4 %); 31 % of the 300 defects counted. The first 3 kinds make up 80 % of the count."
    )
