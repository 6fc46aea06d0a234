"""What a comparison of suppliers answers: figures, settings, and the fields of its JSON."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal, NotRequired, cast

import polars as pl
from typing_extensions import TypedDict

from logbook.adjusted_comparison import AdjustedSupplier
from logbook.kernels.count_series import Measure
from logbook.kernels.setup_model.levels import Verdict
from logbook.kernels.strata import RiskComparison
from logbook.questions.suppliers import words
from logbook.questions.suppliers.cost import AdjustedCost, RecordedCost
from logbook.questions.suppliers.jobs import Counted, Job
from logbook.questions.suppliers.stratified import Bounds, StratifiedCheck
from logbook.shop import SameMill
from logbook.vocabulary.defects import DefectKind
from logbook.wording import PER_STITCHES, json_interval, json_number


class CountedJson(TypedDict):
    """What was counted; of pieces and stitches, null is what the kind is not counted against."""

    runs: int
    pieces_inspected: int | None
    stitches_sewn: float | None
    count: int
    per_100k_stitches: float | None


class StratumJson(CountedJson):
    """One supplier on one job."""

    fabric: str | None
    backing: str | None
    weight_band: str | None
    supplier: str
    rate: float | None
    interval: list[float] | None
    like_for_like: bool


class MantelHaenszelJson(TypedDict):
    """The plain check over shared jobs: ratios and difference of pieces, or of events."""

    odds_ratio: NotRequired[float | None]
    odds_ratio_interval: NotRequired[list[float] | None]
    risk_ratio: NotRequired[float | None]
    risk_ratio_interval: NotRequired[list[float] | None]
    risk_difference: NotRequired[float | None]
    risk_difference_interval: NotRequired[list[float] | None]
    rate_ratio: NotRequired[float | None]
    rate_ratio_interval: NotRequired[list[float] | None]
    rate_difference: NotRequired[float | None]
    rate_difference_interval: NotRequired[list[float] | None]
    homogeneity_p: float | None
    strata: int
    supplier_exposure: float
    reference_exposure: float


class SupplierJson(CountedJson):
    """One supplier, against the reference where it is not that itself."""

    supplier: str
    lots: int
    crude_rate: float | None
    crude_interval: list[float] | None
    crude_misleads: bool
    like_for_like_share: float | None
    like_for_like_rate: float | None
    like_for_like_interval: list[float] | None
    difference: float | None
    difference_interval: list[float] | None
    mantel_haenszel: MantelHaenszelJson | None
    verdict: Verdict | None
    pieces_needed: int | None
    lots_needed: int | None
    lots_standard_deviation: float | None
    pieces_compared: float | None
    cost_per_good_piece: float | None
    cost_interval: list[float] | None
    cost_like_for_like: bool
    cost_per_good_piece_recorded: float | None
    saving_per_100_pieces: float | None
    saving_interval: list[float] | None
    price_saving_per_100_pieces: float | None
    backing_cost_per_piece: float | None
    pieces_spoiled: float | None


class AnswerJson(TypedDict):
    """Rates as fractions (events per stitch), null for what cannot be said."""

    defect: str
    measure: Literal["pieces", "events"]
    backing: str | None
    reference: str | None
    margin: float | None
    level: float
    currency: str
    strata: list[StratumJson]
    suppliers: list[SupplierJson]
    lines: list[str]
    warnings: list[str]


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
        return self.check is not None and self.check.confounding is not None

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
