"""What the setup factors answer: effects, curves, settings, and the fields of their JSON."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal, TypeAlias

import polars as pl
from typing_extensions import TypedDict

from logbook.adjusted_comparison import AdjustedCurve, AdjustedEffect, Aliased, CurvePoint
from logbook.kernels.count_series import Measure
from logbook.questions.factors import words
from logbook.questions.factors.confounding import Confounding, Crude, confounding_of
from logbook.runs.factors import factor_label, level_label
from logbook.shop import SameMill
from logbook.vocabulary.defects import DefectKind
from logbook.wording import PER_STITCHES, json_interval, json_number

Evidence: TypeAlias = Literal["strong", "fair", "thin", "none"]
Level: TypeAlias = tuple[str, str | None]
"""A factor and a level of it."""

STRONG = 0.01
"""At most so many false ones in a hundred among the findings this strong."""
THIN = 0.05


class CountedJson(TypedDict):
    """What was counted; of pieces and stitches, null is what the kind is not counted against."""

    pieces_inspected: int | None
    stitches_sewn: float | None
    count: int
    per_100k_stitches: float | None


class EffectJson(CountedJson):
    """One level against the factor's other levels."""

    factor: str
    factor_label: str
    level: str
    level_label: str
    reference: str
    set_apart: list[str]
    runs: int
    crude_rate: float | None
    crude_interval: list[float] | None
    crude_ratio: float | None
    crude_ratio_interval: list[float] | None
    crude_misleads: bool
    adjusted_rate: float | None
    adjusted_interval: list[float] | None
    others_adjusted_rate: float | None
    ratio: float | None
    ratio_interval: list[float] | None
    ratio_interval_level: float | None
    p_value: float | None
    q_value: float | None
    finding: bool
    evidence: Evidence | None
    like_for_like_share: float | None
    inseparable_from: list[str]
    notes: list[str]


class PointJson(CountedJson):
    """One level of a curve."""

    level: str
    level_label: str
    runs: int
    adjusted_rate: float | None
    adjusted_interval: list[float] | None


class CurveJson(TypedDict):
    """A rate along an ordered factor."""

    factor: str
    factor_label: str
    points: list[PointJson]
    exposure: float
    per_step: float | None
    per_step_interval: list[float] | None
    p_value: float | None
    left_out: list[str]


class NeverVariedJson(TypedDict):
    """A factor of one level, or of none."""

    factor: str
    factor_label: str
    level: str | None
    level_label: str


class NeverApartJson(TypedDict):
    """Two factors, or a level of each, that go together."""

    factors: list[str]
    levels: list[str | None] | None
    both_ways: bool
    share: float | None
    runs: int
    says: str


class AnswerJson(CountedJson):
    """Rates as fractions (events per stitch), null for what cannot be said."""

    defect: str
    measure: Measure
    level: float
    effects: list[EffectJson]
    curves: list[CurveJson]
    never_varied: list[NeverVariedJson]
    never_apart: list[NeverApartJson]
    lines: list[str]
    warnings: list[str]


@dataclass(frozen=True, slots=True)
class FactorEffect:
    """One level of a factor against the factor's other levels: adjusted, and crudely beside it.

    ``aliases`` are the levels that always go with it, so that the two cannot be told apart.
    """

    adjusted: AdjustedEffect
    crude: Crude
    aliases: tuple[Level, ...] = ()

    @property
    def factor_label(self) -> str:
        """Name of the factor."""
        return factor_label(self.adjusted.factor)

    @property
    def level_label(self) -> str:
        """Name of the level."""
        return level_label(self.adjusted.factor, self.adjusted.level)

    @property
    def comparable(self) -> bool:
        """Whether the level was used on the same jobs as others."""
        return math.isfinite(self.adjusted.ratio)

    @property
    def confounding(self) -> Confounding | None:
        """How the crude look leads astray, if it does."""
        return confounding_of(self.crude, self.adjusted)

    @property
    def evidence(self) -> Evidence | None:
        """How much speaks for an effect; None where it cannot be told."""
        if not self.comparable:
            return None
        if self.adjusted.finding:
            return "strong" if self.adjusted.q_value <= STRONG else "fair"
        return "thin" if self.adjusted.p_value < THIN else "none"

    @property
    def at_least(self) -> float:
        """How far from 1 the ratio is at the least, on the logarithm; 0 where it may be 1."""
        lower, upper = self.adjusted.ratio_interval
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
    never_varied
        Factors of one level → that level, None where nothing was recorded.
    aliased
        What never varies apart.
    fit_warnings
        What the fit of the model warns of.
    same_mill
        Suppliers that the shop marks as selling one mill's backing.
    """

    kind: DefectKind
    level: float
    exposure: float
    count: int
    effects: tuple[FactorEffect, ...]
    curves: tuple[AdjustedCurve, ...]
    never_varied: Mapping[str, str | None]
    aliased: tuple[Aliased, ...]
    fit_warnings: tuple[str, ...] = ()
    same_mill: tuple[SameMill, ...] = ()

    @property
    def findings(self) -> tuple[FactorEffect, ...]:
        """The levels that stand out, by how far at the least."""
        return tuple(each for each in self.effects if each.adjusted.finding)

    @property
    def set_apart(self) -> tuple[tuple[str, str], ...]:
        """Factor and level of what is not among the others of the rest of its factor."""
        apart = {
            (each.adjusted.factor, one): None
            for each in self.effects
            for one in each.adjusted.apart
        }
        return tuple(apart)

    @property
    def trends(self) -> tuple[AdjustedCurve, ...]:
        """The curves that rise or fall by more than luck."""
        return tuple(curve for curve in self.curves if curve.p_value < 1.0 - self.level)

    def table(self) -> pl.DataFrame:
        """One row a level in the order of ``effects``, intervals as two columns."""
        return pl.DataFrame([_table_row(each) for each in self.effects], schema=_COLUMNS)

    def as_json(self) -> AnswerJson:
        """Answer rates as fractions (events per stitch), null for what cannot be said."""
        return {
            "defect": self.kind.name,
            "measure": self.kind.measure,
            "level": self.level,
            **_counted(self.exposure, self.count, self.kind.measure),
            "effects": [self._effect(each) for each in self.effects],
            "curves": [self._curve(each) for each in self.curves],
            "never_varied": [
                {
                    "factor": factor,
                    "factor_label": factor_label(factor),
                    "level": level,
                    "level_label": level_label(factor, level),
                }
                for factor, level in self.never_varied.items()
            ],
            "never_apart": [_never_apart(each) for each in self.aliased],
            "lines": list(words.lines(self)),
            "warnings": list(words.pressing(self)),
        }

    def _effect(self, each: FactorEffect) -> EffectJson:
        adjusted, crude = each.adjusted, each.crude
        return {
            "factor": adjusted.factor,
            "factor_label": each.factor_label,
            "level": adjusted.level,
            "level_label": each.level_label,
            "reference": words.reference(each),
            "set_apart": list(adjusted.apart),
            "runs": adjusted.runs,
            **_counted(adjusted.exposure, adjusted.count, self.kind.measure),
            "crude_rate": json_number(crude.rate),
            "crude_interval": json_interval(crude.interval),
            "crude_ratio": json_number(crude.ratio),
            "crude_ratio_interval": json_interval(crude.ratio_interval),
            "crude_misleads": each.confounding is not None,
            "adjusted_rate": json_number(adjusted.rate),
            "adjusted_interval": json_interval(adjusted.rate_interval),
            "others_adjusted_rate": json_number(adjusted.others_rate),
            "ratio": json_number(adjusted.ratio),
            "ratio_interval": json_interval(adjusted.ratio_interval),
            "ratio_interval_level": json_number(adjusted.ratio_level),
            "p_value": json_number(adjusted.p_value),
            "q_value": json_number(adjusted.q_value),
            "finding": adjusted.finding,
            "evidence": each.evidence,
            "like_for_like_share": json_number(adjusted.like_for_like_share),
            "inseparable_from": [words.named(*alias) for alias in each.aliases],
            "notes": list(adjusted.notes),
        }

    def _curve(self, curve: AdjustedCurve) -> CurveJson:
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

    def _point(self, factor: str, point: CurvePoint) -> PointJson:
        return {
            "level": point.level,
            "level_label": level_label(factor, point.level),
            "runs": point.runs,
            **_counted(point.exposure, point.count, self.kind.measure),
            "adjusted_rate": json_number(point.rate),
            "adjusted_interval": json_interval(point.interval),
        }


def _counted(exposure: float, count: int, measure: Measure) -> CountedJson:
    pieces = measure == "pieces"
    return {
        "pieces_inspected": round(exposure) if pieces else None,
        "stitches_sewn": None if pieces else exposure,
        "count": count,
        "per_100k_stitches": (None if pieces or exposure == 0 else count / exposure * PER_STITCHES),
    }


def _never_apart(each: Aliased) -> NeverApartJson:
    return {
        "factors": [each.factor, each.other],
        "levels": None if each.level is None else [each.level, each.other_level],
        "both_ways": each.both_ways,
        "share": json_number(each.share),
        "runs": each.runs,
        "says": words.go_together(each),
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


def _table_row(each: FactorEffect) -> dict[str, Any]:
    adjusted, crude = each.adjusted, each.crude
    values = (
        each.factor_label,
        each.level_label,
        adjusted.runs,
        adjusted.exposure,
        adjusted.count,
        crude.rate,
        *crude.interval,
        *map(json_number, (adjusted.rate, *adjusted.rate_interval)),
        *map(json_number, (adjusted.ratio, *adjusted.ratio_interval)),
        *map(json_number, (adjusted.p_value, adjusted.q_value)),
        adjusted.finding,
        each.evidence,
        adjusted.like_for_like_share,
        each.confounding is not None,
    )
    return dict(zip(_COLUMNS, values, strict=True))
