"""What a comparison of suppliers answers: figures, settings, and the fields of its JSON."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, cast

import polars as pl

from logbook.adjusted_comparison import AdjustedSupplier
from logbook.kernels.count_series import Measure
from logbook.kernels.strata import RiskComparison
from logbook.questions.suppliers import words
from logbook.questions.suppliers.cost import AdjustedCost, RecordedCost
from logbook.questions.suppliers.jobs import Counted, Job
from logbook.questions.suppliers.shapes import (
    AnswerJson,
    CountedJson,
    DoubtsJson,
    MantelHaenszelJson,
    StratumJson,
    SupplierJson,
)
from logbook.questions.suppliers.stratified import (
    Bounds,
    Confounding,
    Difference,
    StratifiedCheck,
    confounding_of,
)
from logbook.shop import SameMill
from logbook.vocabulary.defects import DefectKind
from logbook.wording import PER_STITCHES, json_interval, json_number


@dataclass(frozen=True, slots=True)
class Stratum:
    """One supplier on one job; ``like_for_like`` where the comparison uses it."""

    job: Job
    supplier: str
    counted: Counted
    rate: float
    interval: Bounds
    like_for_like: bool


@dataclass(frozen=True, slots=True)
class SupplierRow:
    """One supplier; ``check`` is None for the reference, ``adjusted`` empty where not estimated."""

    supplier: str
    counted: Counted
    lots: int
    crude_rate: float
    crude_interval: Bounds
    check: StratifiedCheck | None
    like_for_like_share: float
    adjusted: AdjustedSupplier

    @property
    def crude_misleads(self) -> bool:
        """Whether the crude rate points another way than the like-for-like comparison."""
        return self.confounding is not None

    @property
    def like_for_like(self) -> Difference | None:
        """The one like-for-like difference told: the adjusted one, else the plain check's."""
        if self.check is None or not self.adjusted.known:
            return None if self.check is None else self.check.like_for_like
        adjusted = self.adjusted
        return replace(
            self.check.like_for_like,
            estimate=adjusted.difference,
            interval=adjusted.difference_interval,
        )

    @property
    def confounding(self) -> Confounding | None:
        """How the crude rate leads astray, if it does."""
        if self.check is None or self.like_for_like is None:
            return None
        return confounding_of(self.check.crude, self.like_for_like)

    @property
    def on_same_jobs(self) -> tuple[float, Bounds] | None:
        """Difference to the reference: adjusted where judged, else of the plain check.

        None for the reference, and for a supplier that shares no job with it.
        """
        if self.check is None or self.check.jobs == 0:
            return None
        if self.adjusted.verdict is not None:
            return self.adjusted.difference, self.adjusted.difference_interval
        return self.check.like_for_like.estimate, self.check.like_for_like.interval


@dataclass(frozen=True, slots=True, eq=False)
class SuppliersResult:
    """Backing suppliers compared by one kind of defect.

    Attributes
    ----------
    kind, backing, reference, margin, level, currency
        What was compared and how; ``reference`` is None where no run names a supplier.
    strata
        Every supplier on every job, by fabric, backing, weight.
    suppliers
        The reference first, then the most inspected.
    costs
        By supplier, as recorded; empty where costs were not asked for.
    adjusted_costs
        By supplier, on the same jobs; empty where there is no adjusted comparison to base them on.
    adjusted_given
        Whether the suppliers hold estimates that carry lot-to-lot variation.
    why_not_adjusted
        The reason, where they could not be made.
    unnamed, without_backing
        Runs left out: on backing whose supplier is not recorded, and sewn without backing.
    same_mill
        Suppliers that the shop marks as selling one mill's backing.
    costs_assumed
        Whether costs are usual ones of the trade, not the shop's.
    """

    kind: DefectKind
    backing: str | None
    reference: str | None
    margin: float | None
    level: float
    currency: str
    strata: tuple[Stratum, ...]
    suppliers: tuple[SupplierRow, ...]
    costs: Mapping[str, RecordedCost]
    adjusted_costs: Mapping[str, AdjustedCost]
    adjusted_given: bool
    why_not_adjusted: str | None
    unnamed: Counted
    without_backing: Counted
    same_mill: tuple[SameMill, ...]
    costs_assumed: bool

    def cost(self, supplier: str) -> RecordedCost:
        """What a good piece has cost on a supplier's backing, whatever the jobs."""
        return self.costs.get(supplier, RecordedCost())

    def adjusted_cost(self, supplier: str) -> AdjustedCost:
        """What a good piece costs on a supplier's backing on the same jobs."""
        return self.adjusted_costs.get(supplier, AdjustedCost())

    def good_piece(self, supplier: str) -> tuple[float, Bounds]:
        """Cost of a good piece and its interval: like for like where known, else as recorded."""
        adjusted, recorded = self.adjusted_cost(supplier), self.cost(supplier)
        if math.isfinite(adjusted.per_good_piece):
            return adjusted.per_good_piece, adjusted.interval
        return recorded.per_good_piece, recorded.interval

    def table(self) -> pl.DataFrame:
        """One row a supplier, intervals as two columns, the adjusted and the plain difference."""
        return pl.DataFrame([self._table_row(row) for row in self.suppliers], schema=_COLUMNS)

    def _table_row(self, row: SupplierRow) -> dict[str, Any]:
        plain = None if row.check is None else row.check.like_for_like
        values = (
            row.supplier,
            row.counted.runs,
            row.lots,
            row.counted.exposure,
            row.counted.count,
            row.crude_rate,
            *row.crude_interval,
            json_number(row.adjusted.difference),
            *map(json_number, row.adjusted.difference_interval),
            row.adjusted.verdict,
            *(
                map(json_number, (plain.estimate, *plain.interval))
                if plain is not None
                else (None,) * 3
            ),
            row.like_for_like_share,
            row.crude_misleads,
            json_number(self.good_piece(row.supplier)[0]),
        )
        return dict(zip(_COLUMNS, values, strict=True))

    def as_json(self) -> AnswerJson:
        """Answer rates as fractions (events per stitch), null for what cannot be said."""
        return {
            "defect": self.kind.name,
            "measure": self.kind.measure,
            "backing": self.backing,
            "reference": self.reference,
            "margin": self.margin,
            "level": self.level,
            "currency": self.currency,
            "strata": [self._stratum(row) for row in self.strata],
            "suppliers": [self._supplier(row) for row in self.suppliers],
            "lines": list(words.sentences(self)),
            "warnings": list(words.warnings(self)),
        }

    def _stratum(self, row: Stratum) -> StratumJson:
        return {
            "fabric": row.job.fabric,
            "backing": row.job.backing,
            "weight_band": row.job.weight_band,
            "supplier": row.supplier,
            **_counted(row.counted, self.kind.measure),
            "rate": json_number(row.rate),
            "interval": json_interval(row.interval),
            "like_for_like": row.like_for_like,
        }

    def _supplier(self, row: SupplierRow) -> SupplierJson:
        cost, adjusted_cost = self.cost(row.supplier), self.adjusted_cost(row.supplier)
        per_good_piece, interval = self.good_piece(row.supplier)
        adjusted = row.adjusted
        return {
            "supplier": row.supplier,
            "lots": row.lots,
            **_counted(row.counted, self.kind.measure),
            "crude_rate": json_number(row.crude_rate),
            "crude_interval": json_interval(row.crude_interval),
            "crude_misleads": row.crude_misleads,
            "like_for_like_share": json_number(row.like_for_like_share),
            "like_for_like_rate": json_number(adjusted.rate),
            "like_for_like_interval": json_interval(adjusted.rate_interval),
            "difference": json_number(adjusted.difference),
            "difference_interval": json_interval(adjusted.difference_interval),
            "mantel_haenszel": None if row.check is None else _mantel_haenszel(row.check),
            "verdict": adjusted.verdict,
            "pieces_needed": adjusted.pieces_needed,
            "lots_needed": adjusted.lots_needed,
            "lots_standard_deviation": json_number(adjusted.lot_sd),
            "pieces_compared": json_number(adjusted.shared_pieces) if adjusted.known else None,
            "cost_per_good_piece": json_number(per_good_piece),
            "cost_interval": json_interval(interval),
            "cost_like_for_like": math.isfinite(adjusted_cost.per_good_piece),
            "cost_per_good_piece_recorded": json_number(cost.per_good_piece),
            "saving_per_100_pieces": json_number(adjusted_cost.saving),
            "saving_interval": json_interval(adjusted_cost.saving_interval),
            "price_saving_per_100_pieces": json_number(adjusted_cost.price_saving),
            "backing_cost_per_piece": json_number(cost.backing_per_piece),
            "pieces_spoiled": json_number(cost.pieces_spoiled),
            **_doubts(adjusted),
        }


_COLUMNS: dict[str, Any] = {
    "supplier": pl.String,
    "runs": pl.Int64,
    "lots": pl.Int64,
    "exposure": pl.Float64,
    "count": pl.Int64,
    "crude_rate": pl.Float64,
    "crude_lower": pl.Float64,
    "crude_upper": pl.Float64,
    "difference": pl.Float64,
    "difference_lower": pl.Float64,
    "difference_upper": pl.Float64,
    "verdict": pl.String,
    "check_difference": pl.Float64,
    "check_lower": pl.Float64,
    "check_upper": pl.Float64,
    "like_for_like_share": pl.Float64,
    "crude_misleads": pl.Boolean,
    "cost_per_good_piece": pl.Float64,
}


def _counted(counted: Counted, measure: Measure) -> CountedJson:
    pieces = measure == "pieces"
    rate = counted.count / counted.exposure
    return {
        "runs": counted.runs,
        "pieces_inspected": round(counted.exposure) if pieces else None,
        "stitches_sewn": None if pieces else counted.exposure,
        "count": counted.count,
        "per_100k_stitches": None if pieces else json_number(rate * PER_STITCHES),
    }


def _doubts(adjusted: AdjustedSupplier) -> DoubtsJson:
    """Backing by backing, what has changed lately, and what something unseen may do."""
    unseen = adjusted.unseen
    return {
        "on_backings": [
            {
                "backing": each.backing,
                "rate": json_number(each.rate),
                "reference_rate": json_number(each.reference_rate),
                "difference": json_number(each.difference),
                "difference_interval": json_interval(each.difference_interval),
                "pieces_compared": json_number(each.shared_pieces),
            }
            for each in adjusted.on_backings
        ],
        "worse_on": [each.backing for each in adjusted.worse_on],
        "changed_lately": [
            {
                "supplier": each.supplier,
                "since": each.since.isoformat(),
                "weeks": each.weeks,
                "runs": each.runs,
                "ratio": json_number(each.ratio),
            }
            for each in adjusted.lately
        ],
        "e_value": None if unseen is None else json_number(unseen.e_value),
        "e_value_of_interval": None if unseen is None else json_number(unseen.e_value_of_interval),
        "work_ratio": None if unseen is None else json_number(unseen.work),
        "control_ratio": None if unseen is None else json_number(unseen.control_ratio),
        "control_interval": None if unseen is None else json_interval(unseen.control_interval),
        "verdict_withheld": adjusted.withheld,
    }


def _mantel_haenszel(check: StratifiedCheck) -> MantelHaenszelJson:
    fit = check.fit
    names = (
        ("odds_ratio", "risk_ratio", "risk_difference")
        if isinstance(fit, RiskComparison)
        else ("rate_ratio", "rate_difference")
    )
    figures: dict[str, Any] = {}
    for name in names:
        figures[name] = json_number(getattr(fit, name))
        figures[f"{name}_interval"] = json_interval(
            (getattr(fit, f"{name}_lower"), getattr(fit, f"{name}_upper"))
        )
    figures |= {
        "homogeneity_p": json_number(fit.homogeneity_p),
        "strata": check.jobs,
        "supplier_exposure": check.like_for_like.supplier.exposure,
        "reference_exposure": check.like_for_like.reference.exposure,
    }
    return cast("MantelHaenszelJson", figures)
