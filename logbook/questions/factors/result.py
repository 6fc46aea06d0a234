"""What the setup factors answer: effects, curves, settings, and the fields of their JSON."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal, TypeAlias

import polars as pl

from logbook.adjusted_comparison import CurvePoint, FairCurve, FairEffect, Together
from logbook.questions.factors import sentences
from logbook.questions.factors.crude import Crude, Misled, misled_by
from logbook.runs.factors import factor_label, level_label
from logbook.vocabulary.defects import DefectKind
from logbook.wording import PER_STITCHES, json_interval, json_number

Evidence: TypeAlias = Literal["strong", "fair", "thin", "none"]

REFERENCE = "the others"
STRONG = 0.01
"""At most so many false ones in a hundred among the findings this strong."""
THIN = 0.05


@dataclass(frozen=True, slots=True)
class FactorEffect:
    """One level of a factor against the factor's other levels: fairly, and crudely beside it.

    ``inseparable`` names, for people, what always goes with the level, so that the two cannot
    be told apart.
    """

    fair: FairEffect
    crude: Crude
    inseparable: tuple[str, ...] = ()

    @property
    def factor_label(self) -> str:
        """Name of the factor."""
        return factor_label(self.fair.factor)

    @property
    def level_label(self) -> str:
        """Name of the level."""
        return level_label(self.fair.factor, self.fair.level)

    @property
    def comparable(self) -> bool:
        """Whether the level was used on the same jobs as others."""
        return math.isfinite(self.fair.ratio)

    @property
    def misled(self) -> Misled | None:
        """How the crude look leads astray, if it does."""
        return misled_by(self.crude, self.fair)

    @property
    def evidence(self) -> Evidence | None:
        """How much speaks for an effect; None where it cannot be told."""
        if not self.comparable:
            return None
        if self.fair.finding:
            return "strong" if self.fair.q_value <= STRONG else "fair"
        return "thin" if self.fair.p_value < THIN else "none"

    @property
    def at_least(self) -> float:
        """How far from 1 the ratio is at the least, on the logarithm; 0 where it may be 1."""
        lower, upper = self.fair.ratio_interval
        if not (lower > 1 or 0 < upper < 1):
            return 0.0
        return math.log(lower) if lower > 1 else -math.log(upper)


@dataclass(frozen=True, slots=True, eq=False)
class FactorsResult:
    """Which setup factors go with a defect.

    Attributes
    ----------
    kind, level
        What was asked.
    exposure, count
        In all: pieces inspected (or stitches sewn) and what was counted in them.
    effects
        Findings first, those first that are furthest from 1 at the least; then by p-value; last
        those that share no jobs with the others.
    curves
        Of ordered factors, points in rising order.
    alone
        Factors that never varied → their one level, None where nothing was recorded.
    together
        What never varies apart.
    warnings, notes
        What would mislead, and what to keep in mind.
    """

    kind: DefectKind
    level: float
    exposure: float
    count: int
    effects: tuple[FactorEffect, ...]
    curves: tuple[FairCurve, ...]
    alone: Mapping[str, str | None]
    together: tuple[Together, ...]
    warnings: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def findings(self) -> tuple[FactorEffect, ...]:
        """The levels that stand out, by how far at the least."""
        return tuple(each for each in self.effects if each.fair.finding)

    def with_words(self, warnings: tuple[str, ...], notes: tuple[str, ...]) -> FactorsResult:
        """Return the same figures with these warnings and notes."""
        return replace(self, warnings=warnings, notes=notes)

    def table(self) -> pl.DataFrame:
        """One row a level in the order of ``effects``, intervals as two columns."""
        return pl.DataFrame([_row(each) for each in self.effects], schema=_COLUMNS)

    def finding(self) -> str:
        """Say what stands out, with its doubt and what it rests on."""
        return " ".join(self.headlines())

    def headlines(self) -> tuple[str, ...]:
        """The finding, one group of factors each after the first words."""
        return sentences.headlines(self)

    def lines(self) -> tuple[str, ...]:
        """One sentence or two for each finding, then one for each curve that rises or falls."""
        return (
            *(sentences.line(self, each) for each in self.findings),
            *(
                sentences.curve_line(self, curve)
                for curve in self.curves
                if curve.p_value < 1.0 - self.level
            ),
        )

    def as_json(self) -> dict[str, Any]:
        """Answer rates as fractions (events per stitch), null for what cannot be said."""
        return {
            "defect": self.kind.name,
            "measure": self.kind.measure,
            "level": self.level,
            **self._counted(self.exposure, self.count),
            "effects": [self._effect(each) for each in self.effects],
            "curves": [self._curve(each) for each in self.curves],
            "never_varied": [
                {
                    "factor": factor,
                    "factor_label": factor_label(factor),
                    "level": level,
                    "level_label": level_label(factor, level),
                }
                for factor, level in self.alone.items()
            ],
            "never_apart": [_together(each) for each in self.together],
            "finding": self.finding(),
            "lines": list(self.lines()),
            "warnings": list(self.warnings),
            "notes": [*self.warnings, *self.notes],
        }

    def _effect(self, each: FactorEffect) -> dict[str, Any]:
        fair, crude = each.fair, each.crude
        return {
            "factor": fair.factor,
            "factor_label": each.factor_label,
            "level": fair.level,
            "level_label": each.level_label,
            "reference": REFERENCE,
            "runs": fair.runs,
            **self._counted(fair.exposure, fair.count),
            "crude_rate": json_number(crude.rate),
            "crude_interval": json_interval(crude.interval),
            "crude_ratio": json_number(crude.ratio),
            "crude_ratio_interval": json_interval(crude.ratio_interval),
            "crude_misleads": each.misled is not None,
            "adjusted_rate": json_number(fair.rate),
            "adjusted_interval": json_interval(fair.rate_interval),
            "others_adjusted_rate": json_number(fair.others_rate),
            "ratio": json_number(fair.ratio),
            "ratio_interval": json_interval(fair.ratio_interval),
            "ratio_interval_level": json_number(fair.ratio_level),
            "p_value": json_number(fair.p_value),
            "q_value": json_number(fair.q_value),
            "finding": fair.finding,
            "evidence": each.evidence,
            "like_for_like_share": json_number(fair.like_for_like_share),
            "inseparable_from": list(each.inseparable),
            "notes": list(fair.notes),
        }

    def _curve(self, curve: FairCurve) -> dict[str, Any]:
        return {
            "factor": curve.factor,
            "factor_label": factor_label(curve.factor),
            "points": [self._point(curve.factor, each) for each in curve.points],
            "exposure": curve.exposure,
            "per_step": json_number(curve.per_step),
            "per_step_interval": json_interval(curve.per_step_interval),
            "p_value": json_number(curve.p_value),
            "left_out": list(curve.left_out),
        }

    def _point(self, factor: str, point: CurvePoint) -> dict[str, Any]:
        return {
            "level": point.level,
            "level_label": level_label(factor, point.level),
            "runs": point.runs,
            **self._counted(point.exposure, point.count),
            "adjusted_rate": json_number(point.rate),
            "adjusted_interval": json_interval(point.interval),
        }

    def _counted(self, exposure: float, count: int) -> dict[str, Any]:
        pieces = self.kind.measure == "pieces"
        return {
            "pieces_inspected": round(exposure) if pieces else None,
            "stitches_sewn": None if pieces else exposure,
            "count": count,
            "per_100k_stitches": (
                None if pieces or exposure == 0 else count / exposure * PER_STITCHES
            ),
        }


_COLUMNS: dict[str, Any] = {
    "factor": pl.String,
    "level": pl.String,
    "runs": pl.Int64,
    "exposure": pl.Float64,
    "count": pl.Int64,
    "crude_rate": pl.Float64,
    "crude_lower": pl.Float64,
    "crude_upper": pl.Float64,
    "adjusted_rate": pl.Float64,
    "adjusted_lower": pl.Float64,
    "adjusted_upper": pl.Float64,
    "ratio": pl.Float64,
    "ratio_lower": pl.Float64,
    "ratio_upper": pl.Float64,
    "p_value": pl.Float64,
    "q_value": pl.Float64,
    "finding": pl.Boolean,
    "evidence": pl.String,
    "like_for_like_share": pl.Float64,
    "crude_misleads": pl.Boolean,
}


def _row(each: FactorEffect) -> dict[str, Any]:
    fair, crude = each.fair, each.crude
    return {
        "factor": each.factor_label,
        "level": each.level_label,
        "runs": fair.runs,
        "exposure": fair.exposure,
        "count": fair.count,
        "crude_rate": crude.rate,
        "crude_lower": crude.interval[0],
        "crude_upper": crude.interval[1],
        "adjusted_rate": json_number(fair.rate),
        "adjusted_lower": json_number(fair.rate_interval[0]),
        "adjusted_upper": json_number(fair.rate_interval[1]),
        "ratio": json_number(fair.ratio),
        "ratio_lower": json_number(fair.ratio_interval[0]),
        "ratio_upper": json_number(fair.ratio_interval[1]),
        "p_value": json_number(fair.p_value),
        "q_value": json_number(fair.q_value),
        "finding": fair.finding,
        "evidence": each.evidence,
        "like_for_like_share": fair.like_for_like_share,
        "crude_misleads": each.misled is not None,
    }


def _together(each: Together) -> dict[str, Any]:
    return {
        "factors": [each.factor, each.other],
        "levels": None if each.level is None else [each.level, each.other_level],
        "both_ways": each.both_ways,
        "share": json_number(each.share),
        "runs": each.runs,
        "says": sentences.together(each),
    }
