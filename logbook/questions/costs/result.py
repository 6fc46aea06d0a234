"""What each kind of defect has cost: the kinds in their order, and the JSON of the answer."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import polars as pl
from typing_extensions import TypedDict

from logbook.costing import Costed, KindCost, Order
from logbook.wording import PER_STITCHES, json_number


class KindJson(TypedDict):
    """One kind, counted and costed; money in the shop's currency."""

    kind: str
    label: str
    measure: Literal["pieces", "events"]
    runs: int
    count: int
    exposure: float
    rate: float | None
    interval: list[float | None]
    per_100k_stitches: float | None
    spoiled: float | None
    reworked: float | None
    rework_minutes: float | None
    cost: float | None
    share_of_cost: float | None
    share_of_count: float | None
    cumulative_share: float | None


class AnswerJson(TypedDict):
    """The kinds of defect in the order in which to look at them."""

    ordered_by: Order
    currency: str
    total_cost: float | None
    total_count: int
    kinds: list[KindJson]
    kept_apart: list[KindJson]


@dataclass(frozen=True, slots=True, eq=False)
class CostsResult:
    """Kinds of defect in the order in which to look at them.

    Attributes
    ----------
    costed
        The kinds, counted, costed and shared.
    intervals
        95 % interval of each kind's rate, by its name; NaN where nothing was inspected or sewn.
    currency
        Of all money here.
    order
        What was asked to order by.
    costs_assumed
        Whether the costs are usual ones of the trade, and not the shop's own.
    """

    costed: Costed
    intervals: Mapping[str, tuple[float, float]]
    currency: str
    order: Order
    costs_assumed: bool

    @property
    def by_cost(self) -> bool:
        """Whether the order is by cost; else it is by count."""
        return self.costed.ordered_by == "cost"

    @property
    def only(self) -> KindCost | None:
        """The one kind that has a share of the whole; None where several have, or none."""
        sharing = [
            each for each in self.costed.kinds if (each.cost if self.by_cost else each.count) > 0
        ]
        return sharing[0] if len(sharing) == 1 else None

    @property
    def drawn(self) -> tuple[KindCost, ...]:
        """The kinds that a drawing can show: counted, with a known size; none where all are 0."""
        counted = [each for each in self.costed.kinds if each.count > 0]
        known = tuple(each for each in counted if math.isfinite(self.size(each)))
        return known if any(self.size(each) > 0 for each in known) else ()

    def size(self, each: KindCost) -> float:
        """What sets the place of a kind: its cost (NaN where not known), or its count."""
        return each.cost if self.by_cost else float(each.count)

    def share(self, each: KindCost) -> float:
        """Its part of the whole cost, or of all that was counted."""
        return each.share_of_cost if self.by_cost else each.share_of_count

    def table(self) -> pl.DataFrame:
        """One row a kind, in order; those kept apart come last, with no shares."""
        every = (*self.costed.kinds, *self.costed.apart)
        bounds = [self.intervals[each.kind.name] for each in every]
        rows = [
            {name: value for name, value in self._row(each).items() if name != "interval"}
            | {"kept_apart": each in self.costed.apart}
            for each in every
        ]
        return pl.DataFrame(rows).with_columns(
            pl.Series("lower", [lower for lower, _ in bounds], dtype=pl.Float64),
            pl.Series("upper", [upper for _, upper in bounds], dtype=pl.Float64),
        )

    def as_json(self) -> AnswerJson:
        """Answer rates as fractions, money in the shop's currency."""
        return {
            "ordered_by": self.costed.ordered_by,
            "currency": self.currency,
            "total_cost": json_number(self.costed.total_cost),
            "total_count": self.costed.total_count,
            "kinds": [self._row(each) for each in self.costed.kinds],
            "kept_apart": [self._row(each) for each in self.costed.apart],
        }

    def _row(self, each: KindCost) -> KindJson:
        rate = rate_of(each)
        events, lost = each.kind.measure == "events", each.losses_recorded
        return {
            "kind": each.kind.name,
            "label": each.kind.label,
            "measure": each.kind.measure,
            "runs": each.runs,
            "count": each.count,
            "exposure": each.exposure,
            "rate": json_number(rate),
            "interval": [json_number(bound) for bound in self.intervals[each.kind.name]],
            "per_100k_stitches": json_number(rate * PER_STITCHES) if events else None,
            "spoiled": json_number(each.spoiled) if lost else None,
            "reworked": json_number(each.reworked) if lost else None,
            "rework_minutes": json_number(each.rework_minutes) if lost else None,
            "cost": json_number(each.cost),
            "share_of_cost": json_number(each.share_of_cost),
            "share_of_count": json_number(each.share_of_count),
            "cumulative_share": json_number(each.cumulative_share),
        }


def rate_of(each: KindCost) -> float:
    """How often a kind came up; NaN where nothing was inspected or sewn."""
    return each.count / each.exposure if each.exposure > 0 else math.nan
