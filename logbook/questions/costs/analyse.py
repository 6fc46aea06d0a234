"""Which kinds of defect cost most: the few to work on first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import polars as pl

from logbook.costing import Costed, KindCost, Order, costed
from logbook.errors import TooLittleData
from logbook.kernels.counted import interval
from logbook.shop import Shop
from logbook.vocabulary.defects import DefectKind
from logbook.wording import PER_STITCHES, json_number, money, number, percent, rate_words

QUESTION = "Which kinds of defect cost most?"

MOST_OF_IT = 0.8
"""The share that the "vital few" make up (Juran's reading of Pareto): words, not a test."""


@dataclass(frozen=True, slots=True, eq=False)
class ParetoResult:
    """Kinds of defect in the order in which to look at them.

    Attributes
    ----------
    costed
        The kinds, counted, costed and shared.
    currency
        Of all money here.
    notes
        What to keep in mind.
    """

    costed: Costed
    currency: str
    notes: tuple[str, ...]

    def table(self) -> pl.DataFrame:
        """One row a kind, in order; those kept apart come last, with no shares."""
        rows = [
            self._row(each) | {"kept_apart": each in self.costed.apart}
            for each in (*self.costed.kinds, *self.costed.apart)
        ]
        lower_upper = [row.pop("interval") for row in rows]
        return pl.DataFrame(rows).with_columns(
            pl.Series("lower", [bounds[0] for bounds in lower_upper], dtype=pl.Float64),
            pl.Series("upper", [bounds[1] for bounds in lower_upper], dtype=pl.Float64),
        )

    @property
    def only(self) -> KindCost | None:
        """The one kind that has a share of the whole; None where several have, or none."""
        by_cost = self.costed.ordered_by == "cost"
        sharing = [each for each in self.costed.kinds if (each.cost if by_cost else each.count) > 0]
        return sharing[0] if len(sharing) == 1 else None

    @property
    def drawn(self) -> tuple[KindCost, ...]:
        """The kinds that a drawing can show: counted, with a known size; none where all are 0."""
        counted = [each for each in self.costed.kinds if each.count > 0]
        known = tuple(each for each in counted if math.isfinite(self.size(each)))
        return known if any(self.size(each) > 0 for each in known) else ()

    def size(self, each: KindCost) -> float:
        """What sets the place of a kind: its cost (NaN where not known), or its count."""
        return each.cost if self.costed.ordered_by == "cost" else float(each.count)

    def not_drawn(self) -> str:
        """Name the kinds that no drawing can show; empty where there are none."""
        unknown = [
            each.kind.label.lower()
            for each in self.costed.kinds
            if each.count > 0 and math.isnan(self.size(each))
        ]
        return f"Not drawn, since the cost is not known: {', '.join(unknown)}." if unknown else ""

    def finding(self) -> str:
        """Name the kind that comes first, with what it rests on, and the few that matter."""
        if self.costed.total_count == 0:
            return "No defect was counted."
        if self.only is not None:
            return self._only_one(self.only)
        first = self.costed.kinds[0]
        rests_on = _rate_words(first)
        few = self._few()
        if self.costed.ordered_by == "count":
            return (
                f"{first.kind.label} came up most: {rests_on}; {percent(first.share_of_count, 0)} "
                f"of the {number(self.costed.total_count)} defects counted. {few}"
            ).rstrip()
        cost = money(first.cost, self.currency)
        whole = money(self.costed.total_cost, self.currency)
        share = percent(first.share_of_cost, 0)
        if math.isnan(first.share_of_cost):
            return f"No cost was recorded for any defect; {first.kind.label} came up in {rests_on}."
        return (
            f"{first.kind.label} cost most: {cost} of {whole} ({share}), from {rests_on}. {few}"
        ).rstrip()

    def as_json(self) -> dict[str, Any]:
        """Answer rates as fractions, money in the shop's currency."""
        return {
            "ordered_by": self.costed.ordered_by,
            "currency": self.currency,
            "total_cost": json_number(self.costed.total_cost),
            "total_count": self.costed.total_count,
            "kinds": [self._row(each) for each in self.costed.kinds],
            "kept_apart": [self._row(each) for each in self.costed.apart],
            "finding": self.finding(),
            "notes": list(self.notes),
        }

    def _only_one(self, only: KindCost) -> str:
        name, rests_on = only.kind.label.lower(), _rate_words(only)
        if self.costed.ordered_by == "count":
            return f"Only {name} came up: {rests_on}."
        cost = money(only.cost, self.currency)
        if any(math.isnan(each.cost) and each.count > 0 for each in self.costed.kinds):
            return f"The only cost known is that of {name}: {cost}, from {rests_on}."
        return f"Only {name} cost anything: {cost}, from {rests_on}."

    def _few(self) -> str:
        counted = [each for each in self.costed.kinds if each.count > 0]
        needed = 1 + sum(each.cumulative_share < MOST_OF_IT for each in counted[:-1])
        if needed == len(counted):
            return ""
        what = "cost" if self.costed.ordered_by == "cost" else "count"
        share = percent(counted[needed - 1].cumulative_share, 0)
        first = "The first kind makes" if needed == 1 else f"The first {needed} kinds make"
        return f"{first} up {share} of the {what}."

    def _row(self, each: KindCost) -> dict[str, Any]:
        doubt = _interval(each)
        rate = each.count / each.exposure if each.exposure > 0 else math.nan
        row: dict[str, Any] = {
            "kind": each.kind.name,
            "label": each.kind.label,
            "measure": each.kind.measure,
            "runs": each.runs,
            "count": each.count,
            "exposure": each.exposure,
            "rate": json_number(rate),
            "interval": [json_number(bound) for bound in doubt],
            "per_100k_stitches": (
                json_number(rate * PER_STITCHES) if each.kind.measure == "events" else None
            ),
        }
        for name in ("spoiled", "reworked", "rework_minutes"):
            row[name] = json_number(getattr(each, name)) if each.losses_recorded else None
        for name in ("cost", "share_of_cost", "share_of_count", "cumulative_share"):
            row[name] = json_number(getattr(each, name))
        return row


def analyse(
    cells: pl.DataFrame,
    *,
    shop: Shop,
    kinds: Sequence[DefectKind] | None = None,
    order: Order = "cost",
) -> ParetoResult:
    """Put the kinds of defect in the order of what they cost.

    Parameters
    ----------
    cells
        Long cells of all kinds over the window, grouped by anything.
    shop
        Whose costs and currency count.
    kinds
        The kinds to rank, in the order that settles ties; None for all of the shop's.
    order
        ``cost``, or ``count`` to rank by how often they came up.

    Returns
    -------
    ParetoResult
        The order falls back to counts where nobody recorded what was spoiled or reworked.

    Raises
    ------
    TooLittleData
        The cells hold none of the kinds.
    AnalysisError
        The cells have no ``kind`` column.
    """
    ranked = costed(cells, kinds=shop.kinds if kinds is None else kinds, shop=shop, order=order)
    if not ranked.kinds and not ranked.apart:
        raise TooLittleData(
            "No defects were recorded there, of any kind.",
            "Widen the dates, or check that the run sheets have columns for defects.",
            needed=1,
            got=0,
            unit="runs with defects recorded",
        )
    return ParetoResult(ranked, shop.currency, _notes(ranked, shop, order))


def _interval(each: KindCost) -> tuple[float, float]:
    if not each.exposure > 0:
        return math.nan, math.nan
    doubt = interval(count=each.count, exposure=each.exposure, measure=each.kind.measure)
    return doubt.lower, doubt.upper


def _rate_words(each: KindCost) -> str:
    rate = each.count / each.exposure if each.exposure > 0 else math.nan
    return rate_words(each.kind.measure, each.count, each.exposure, rate, _interval(each))


def _notes(ranked: Costed, shop: Shop, order: Order) -> tuple[str, ...]:
    notes = []
    if order == "cost" and ranked.ordered_by == "count":
        notes.append(
            "Nobody recorded what was spoiled or reworked, so the order is by count and costs of "
            "pieces cannot be said: fill in pieces_spoiled, pieces_reworked or rework_minutes."
        )
    unknown = [each.kind.label for each in ranked.kinds if math.isnan(each.cost)]
    if ranked.ordered_by == "cost" and unknown:
        notes.append(
            f"Without record of spoilage or rework, and so in no share: {', '.join(unknown)}."
        )
    if ranked.ordered_by == "count" and len({each.kind.measure for each in ranked.kinds}) == 2:
        notes.append("Counts of pieces and counts of events are ranked together: read with care.")
    if ranked.ordered_by == "cost" and shop.costs_assumed:
        notes.append(
            "Costs are usual ones of the trade, not this shop's: put its own into shop.toml."
        )
    if ranked.ordered_by == "cost":
        notes.append(
            "Spoilage and rework are recorded for a run and divided among its defects by their "
            "counts; the rates carry intervals, the money is as recorded."
        )
    notes += [
        f"{each.kind.label}: {_rate_words(each)}. They came in with the goods, so they are kept "
        "apart and charged to no setup."
        for each in ranked.apart
        if each.count > 0
    ]
    return tuple(notes)
