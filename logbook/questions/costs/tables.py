"""What each kind of defect cost, as a table: dearest first, those kept apart by themselves."""

from __future__ import annotations

import math
from collections.abc import Sequence

from logbook.costing import KindCost
from logbook.questions.costs.result import CostsResult, rate_of
from logbook.questions.table import Cell, Heading, Table, table
from logbook.short_figures import (
    ABSENT,
    count_short,
    interval_short,
    money_or_not_known,
    rate_short,
)
from logbook.wording import percent


def tables(result: CostsResult) -> tuple[Table, ...]:
    """One row a kind, in order; faults that came in with the goods follow in a table of theirs."""
    return (
        _table(result, result.costed.kinds, "Kinds of defect, in their order"),
        _table(result, result.costed.apart, "Came in with the goods"),
    )


def _table(result: CostsResult, kinds: Sequence[KindCost], caption: str) -> Table:
    what = "cost" if result.by_cost else "count"
    headings = (
        Heading("Defect"),
        Heading("counted", figures=True, wide_only=True),
        Heading("rate", figures=True, wide_only=True),
        Heading("95 % interval", figures=True, wide_only=True),
        Heading(f"cost, {result.currency}", figures=True),
        Heading(f"share of {what}", figures=True),
        Heading("together", figures=True, wide_only=True),
    )
    return table(caption, headings, [_row(result, each) for each in kinds])


def _row(result: CostsResult, each: KindCost) -> list[str | Cell]:
    measure = each.kind.measure
    counted = count_short(measure, each.count, each.exposure)
    rate = rate_short(measure, rate_of(each))
    return [
        Cell(each.kind.label, narrow=(counted, rate)),
        counted,
        rate,
        interval_short(measure, result.intervals[each.kind.name]),
        money_or_not_known(each.cost),
        _share(result.share(each)),
        _share(each.cumulative_share),
    ]


def _share(share: float) -> str:
    return percent(share, 0) if math.isfinite(share) else ABSENT
