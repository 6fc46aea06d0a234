"""What was lost, level by level of a column, and the fields of its JSON."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl
from typing_extensions import TypedDict

from logbook.wording import json_interval, json_number


class LevelJson(TypedDict):
    """One level: what it lost, and how often its pieces showed any defect."""

    level: str | None
    runs: int
    pieces_inspected: float
    count: int
    rate: float | None
    interval: list[float] | None
    cost: float | None
    cost_per_100_pieces: float | None
    share_of_cost: float | None


class AnswerJson(TypedDict):
    """Money in the shop's currency, dearest level first."""

    by: str
    currency: str
    total_cost: float | None
    levels: list[LevelJson]


@dataclass(frozen=True, slots=True)
class Level:
    """One level of the column.

    Attributes
    ----------
    level
        Its value; None for runs that did not record it.
    runs, pieces_inspected, count, rate, interval
        Of any defect; the interval at 95 %.
    cost
        Of all kinds that the setup is charged with; NaN where nothing can be said.
    share_of_cost
        Of all levels; NaN where nothing was lost.
    """

    level: str | None
    runs: int
    pieces_inspected: float
    count: int
    rate: float
    interval: tuple[float, float]
    cost: float
    share_of_cost: float

    @property
    def cost_per_100_pieces(self) -> float:
        """NaN where no pieces were inspected."""
        return 100 * self.cost / self.pieces_inspected if self.pieces_inspected else float("nan")


@dataclass(frozen=True, slots=True)
class LossesResult:
    """Levels of one column, dearest first; those whose cost is not known come last."""

    by: str
    by_label: str
    currency: str
    total_cost: float
    levels: tuple[Level, ...]
    uncosted: int
    """Defective pieces at levels whose losses nobody recorded."""

    def table(self) -> pl.DataFrame:
        """One row a level."""
        return pl.DataFrame(
            [
                {
                    self.by: each.level,
                    "runs": each.runs,
                    "pieces_inspected": each.pieces_inspected,
                    "count": each.count,
                    "rate": each.rate,
                    "lower": each.interval[0],
                    "upper": each.interval[1],
                    "cost": each.cost,
                    "share_of_cost": each.share_of_cost,
                }
                for each in self.levels
            ]
        )

    def as_json(self) -> AnswerJson:
        """Rates as fractions, money in the shop's currency; null where it cannot be said."""
        return {
            "by": self.by,
            "currency": self.currency,
            "total_cost": json_number(self.total_cost),
            "levels": [
                {
                    "level": each.level,
                    "runs": each.runs,
                    "pieces_inspected": each.pieces_inspected,
                    "count": each.count,
                    "rate": json_number(each.rate),
                    "interval": json_interval(each.interval),
                    "cost": json_number(each.cost),
                    "cost_per_100_pieces": json_number(each.cost_per_100_pieces),
                    "share_of_cost": json_number(each.share_of_cost),
                }
                for each in self.levels
            ],
        }
