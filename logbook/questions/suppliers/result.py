"""What a comparison of suppliers answers: figures, settings, and the fields of its JSON."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import polars as pl

from logbook.adjusted_comparison import FairFigures
from logbook.kernels.strata import RiskComparison
from logbook.questions.suppliers import sentences
from logbook.questions.suppliers.counting import Counted, Job
from logbook.questions.suppliers.fair_cost import FairCost
from logbook.questions.suppliers.good_pieces import SupplierCost
from logbook.questions.suppliers.like_for_like import Bounds, Check
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
    """One supplier; ``check`` is None for the reference, ``fair`` empty where not estimated."""

    supplier: str
    counted: Counted
    lots: int
    crude_rate: float
    crude_interval: Bounds
    check: Check | None
    like_for_like_share: float
    fair: FairFigures

    @property
    def crude_misleads(self) -> bool:
        """Whether the crude rate points another way than the like-for-like comparison."""
        return self.check is not None and self.check.misled is not None


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
    fair_costs
        By supplier, on the same jobs; empty where there is no fair comparison to base them on.
    fair_given
        Whether the suppliers hold estimates that carry lot-to-lot variation.
    why_not_fair
        The reason, where they could not be made.
    warnings, notes
        What would mislead, and what to keep in mind.
    """

    kind: DefectKind
    backing: str | None
    reference: str | None
    margin: float | None
    level: float
    currency: str
    strata: tuple[Stratum, ...]
    suppliers: tuple[SupplierRow, ...]
    costs: Mapping[str, SupplierCost]
    fair_costs: Mapping[str, FairCost]
    fair_given: bool
    why_not_fair: str | None
    warnings: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def pressing(self) -> tuple[str, ...]:
        """Warnings that belong beside the answer: where the crude figures mislead."""
        return self.warnings[: sum(row.crude_misleads for row in self.suppliers)]

    def with_words(self, warnings: tuple[str, ...], notes: tuple[str, ...]) -> SuppliersResult:
        """Return the same figures with these warnings and notes."""
        return replace(self, warnings=warnings, notes=notes)

    def cost(self, supplier: str) -> SupplierCost:
        """What a good piece has cost on a supplier's backing, whatever the jobs."""
        return self.costs.get(supplier, SupplierCost())

    def fair_cost(self, supplier: str) -> FairCost:
        """What a good piece costs on a supplier's backing on the same jobs."""
        return self.fair_costs.get(supplier, FairCost())

    def good_piece(self, supplier: str) -> tuple[float, Bounds]:
        """Cost of a good piece and its interval: like for like where known, else as recorded."""
        fair, recorded = self.fair_cost(supplier), self.cost(supplier)
        if math.isfinite(fair.per_good_piece):
            return fair.per_good_piece, fair.interval
        return recorded.per_good_piece, recorded.interval

    def table(self) -> pl.DataFrame:
        """One row a supplier, intervals as two columns, the fair and the plain difference."""
        return pl.DataFrame(
            [
                {
                    "supplier": row.supplier,
                    "runs": row.counted.runs,
                    "lots": row.lots,
                    "exposure": row.counted.exposure,
                    "count": row.counted.count,
                    "crude_rate": row.crude_rate,
                    "crude_lower": row.crude_interval[0],
                    "crude_upper": row.crude_interval[1],
                    "difference": json_number(row.fair.difference),
                    "difference_lower": json_number(row.fair.difference_interval[0]),
                    "difference_upper": json_number(row.fair.difference_interval[1]),
                    "verdict": row.fair.verdict,
                    **_checked(row.check),
                    "like_for_like_share": row.like_for_like_share,
                    "crude_misleads": row.crude_misleads,
                    "cost_per_good_piece": json_number(self.good_piece(row.supplier)[0]),
                }
                for row in self.suppliers
            ],
            schema_overrides={
                **dict.fromkeys((*_checked(None), *_FAIR, "cost_per_good_piece"), pl.Float64),
                "verdict": pl.String,
            },
        )

    def finding(self) -> str:
        """Say for the buyer what stands out, with its doubt and how far to trust it."""
        return " ".join(self.headlines())

    def headlines(self) -> tuple[str, ...]:
        """The finding, one verdict each."""
        return sentences.headlines(self)

    def lines(self) -> tuple[str, ...]:
        """One sentence or two for each supplier, the reference first."""
        return tuple(sentences.line(self, row) for row in self.suppliers)

    def as_json(self) -> dict[str, Any]:
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
            "finding": self.finding(),
            "lines": list(self.lines()),
            "warnings": list(self.warnings),
            "notes": [*self.warnings, *self.notes],
        }

    def _stratum(self, row: Stratum) -> dict[str, Any]:
        return {
            "fabric": row.job.fabric,
            "backing": row.job.backing,
            "weight_band": row.job.weight_band,
            "supplier": row.supplier,
            **self._counted(row.counted),
            "rate": json_number(row.rate),
            "interval": json_interval(row.interval),
            "like_for_like": row.like_for_like,
        }

    def _supplier(self, row: SupplierRow) -> dict[str, Any]:
        cost, fair_cost = self.cost(row.supplier), self.fair_cost(row.supplier)
        per_good_piece, interval = self.good_piece(row.supplier)
        return {
            "supplier": row.supplier,
            "lots": row.lots,
            **self._counted(row.counted),
            "crude_rate": json_number(row.crude_rate),
            "crude_interval": json_interval(row.crude_interval),
            "crude_misleads": row.crude_misleads,
            "like_for_like_share": json_number(row.like_for_like_share),
            "like_for_like_rate": json_number(row.fair.rate),
            "like_for_like_interval": json_interval(row.fair.rate_interval),
            "difference": json_number(row.fair.difference),
            "difference_interval": json_interval(row.fair.difference_interval),
            "mantel_haenszel": None if row.check is None else _mantel_haenszel(row.check),
            "verdict": row.fair.verdict,
            "pieces_needed": row.fair.pieces_needed,
            "lots_needed": row.fair.lots_needed,
            "lots_standard_deviation": json_number(row.fair.lots_within),
            "pieces_compared": json_number(row.fair.shared_pieces) if row.fair.known else None,
            "cost_per_good_piece": json_number(per_good_piece),
            "cost_interval": json_interval(interval),
            "cost_like_for_like": math.isfinite(fair_cost.per_good_piece),
            "cost_per_good_piece_recorded": json_number(cost.per_good_piece),
            "saving_per_100_pieces": json_number(fair_cost.saving),
            "saving_interval": json_interval(fair_cost.saving_interval),
            "price_saving_per_100_pieces": json_number(fair_cost.price_saving),
            "backing_cost_per_piece": json_number(cost.backing_per_piece),
            "pieces_spoiled": json_number(cost.pieces_spoiled),
        }

    def _counted(self, counted: Counted) -> dict[str, Any]:
        pieces = self.kind.measure == "pieces"
        rate = counted.count / counted.exposure
        return {
            "runs": counted.runs,
            "pieces_inspected": round(counted.exposure) if pieces else None,
            "stitches_sewn": None if pieces else counted.exposure,
            "count": counted.count,
            "per_100k_stitches": None if pieces else json_number(rate * PER_STITCHES),
        }


_FAIR = ("difference", "difference_lower", "difference_upper")


def _checked(check: Check | None) -> dict[str, float | None]:
    found = None if check is None else check.like_for_like
    return {
        "check_difference": json_number(found.estimate) if found else None,
        "check_lower": json_number(found.interval[0]) if found else None,
        "check_upper": json_number(found.interval[1]) if found else None,
    }


def _mantel_haenszel(check: Check) -> dict[str, Any]:
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
    return {
        **figures,
        "homogeneity_p": json_number(fit.homogeneity_p),
        "strata": check.jobs,
        "supplier_exposure": check.like_for_like.supplier.exposure,
        "reference_exposure": check.like_for_like.reference.exposure,
    }
