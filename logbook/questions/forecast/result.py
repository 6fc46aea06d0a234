"""What an order will lose, and what it rests on."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl
from typing_extensions import TypedDict

from logbook.kernels.predictive_counts import PredictedCount
from logbook.questions.advice.job import Job
from logbook.vocabulary.defects import DefectKind
from logbook.wording import json_number

CHANCE = 0.9
"""Chance that the pieces ordered are enough, and of the intervals."""


class CountJson(TypedDict):
    """Pieces to be expected, and the 90 % predictive interval."""

    expected: float
    interval: list[int]


class ForecastKindJson(TypedDict):
    """One kind of defect."""

    kind: str
    expected: float
    interval: list[int]


class RestsOnJson(TypedDict):
    """Runs on the fabric and their pieces inspected."""

    runs: int
    pieces_inspected: int


class AnswerJson(TypedDict):
    """What an order will lose."""

    job: dict[str, str | None]
    pieces: int
    lost: CountJson
    order: int | None
    rework: float | None
    rework_minutes: float | None
    minutes: float | None
    rests_on: RestsOnJson
    kinds: list[ForecastKindJson]
    level: float


@dataclass(frozen=True, slots=True)
class KindForecast:
    """One kind of defect: pieces of the order that will show it."""

    kind: DefectKind
    count: PredictedCount


@dataclass(frozen=True, slots=True, eq=False)
class ForecastResult:
    """What an order will lose.

    Attributes
    ----------
    job
        As it was told, and as is usual where it was not.
    pieces
        Good pieces wanted.
    lost
        Pieces spoiled of those ordered.
    order
        Pieces to order for a chance of ``CHANCE`` that enough are good; None where none will do.
    rework, rework_minutes
        Pieces that will be reworked, and the minutes of it; None where no run says it.
    minutes
        At the machine; None where no like run says how long it took.
    runs, design_runs, pieces_inspected
        Runs on the fabric, those of them of the design, and their pieces.
    modelled
        Whether enough was spoiled to allow for job and setup; else it is the whole record's share.
    kinds
        Kinds of defect shown most.
    chances
        Pieces begun, and the chance that enough are good.
    notes
        What to keep in mind, names that were probably meant first.
    """

    job: Job
    pieces: int
    lost: PredictedCount
    order: int | None
    rework: float | None
    rework_minutes: float | None
    minutes: float | None
    runs: int
    design_runs: int
    pieces_inspected: int
    modelled: bool
    kinds: tuple[KindForecast, ...]
    chances: tuple[tuple[int, float], ...]
    notes: tuple[str, ...]

    def as_json(self) -> AnswerJson:
        """The fields that users' scripts rely on."""
        return {
            "job": self.job.whole(),
            "pieces": self.pieces,
            "lost": _json(self.lost),
            "order": self.order,
            "rework": json_number(self.rework),
            "rework_minutes": json_number(self.rework_minutes),
            "minutes": json_number(self.minutes),
            "rests_on": {"runs": self.runs, "pieces_inspected": self.pieces_inspected},
            "kinds": [{"kind": each.kind.name, **_json(each.count)} for each in self.kinds],
            "level": CHANCE,
        }

    def table(self) -> pl.DataFrame:
        """What is lost, then the kinds, a row each."""
        rows = [("pieces_spoiled", self.lost), *((e.kind.name, e.count) for e in self.kinds)]
        return pl.DataFrame(
            [(name, count.expected, count.lower, count.upper) for name, count in rows],
            schema={
                "kind": pl.String,
                "expected": pl.Float64,
                "lower": pl.Int64,
                "upper": pl.Int64,
            },
            orient="row",
        )


def _json(count: PredictedCount) -> CountJson:
    return {"expected": count.expected, "interval": [count.lower, count.upper]}
