"""Levels held against what was to be expected, and the fields of the answer's JSON."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Literal, TypeAlias

import polars as pl
from typing_extensions import TypedDict

from logbook.runs.factors import level_label
from logbook.vocabulary.defects import DefectKind
from logbook.wording import json_interval, json_number

Value: TypeAlias = str | int | float | bool | None
Bounds: TypeAlias = tuple[float, float]
SURE = 0.9
"""From this chance on a level is said to lie above, and from its complement down, below."""
NOBODY: Bounds = (math.nan, math.nan)


class LevelJson(TypedDict):
    """One level: what it showed and cost beside what was to be expected of it, like for like."""

    level: dict[str, Value]
    runs: int
    pieces_inspected: float
    stitches_sewn: float | None
    observed: float
    expected: float
    ratio: float | None
    shrunk_ratio: float | None
    interval: list[float] | None
    chance_above: float | None
    money: float | None
    money_expected: float | None
    money_above: float | None
    share_of_money: float | None
    pieces_spoiled: float | None
    spoiled_rate: float | None
    spoiled_interval: list[float] | None
    spoiled_allowed: float | None
    cost_per_1000_stitches: float | None


class UseJson(TypedDict):
    """How one level is set up otherwise than the others on like fabrics."""

    level: dict[str, Value]
    column: str
    value: Value
    share: float
    share_of_others: float
    runs: int


SpanJson = TypedDict("SpanJson", {"from": str, "to": str})


class AnswerJson(SpanJson):
    """Money in the shop's currency; levels with most money above expectation first."""

    defect: str
    by: list[str]
    currency: str
    measure: str
    levels: list[LevelJson]
    total: LevelJson
    setups: list[UseJson]


@dataclass(frozen=True, slots=True)
class Spoilage:
    """What was spoiled of the pieces sewn in runs that wrote it down, and what may be."""

    pieces_sewn: float
    spoiled: float
    interval: Bounds
    allowed: float | None

    @property
    def rate(self) -> float:
        """Share of the pieces sewn; NaN where nobody wrote it down."""
        return self.spoiled / self.pieces_sewn if self.pieces_sewn else math.nan

    @property
    def over(self) -> float:
        """Pieces above the allowance; NaN without one."""
        return math.nan if self.allowed is None else self.spoiled - self.allowed * self.pieces_sewn


@dataclass(frozen=True, slots=True)
class Level:
    """One level of the columns asked by.

    Attributes
    ----------
    level
        Column → value; None where it was not recorded.
    runs, pieces_inspected, exposure
        What it rests on: of events ``exposure`` is stitches sewn.
    observed, expected
        Pieces or events, or money where money is asked about.
    ratio, shrunk_ratio, interval, chance_above
        Observed over expected, as counted and drawn towards 1 as far as luck explains it.
    money, money_expected
        As it was paid, and what the pieces expected would have cost.
    money_above
        Like for like: what the shrunken ratio says was lost above expectation.
    share_of_money
        Of all that was paid.
    spoilage
        None where no run says what was spoiled.
    cost_per_1000_stitches
        Machine, people and losses; NaN where no run says how long it took.
    labels
        Column → how pages call it.
    """

    level: Mapping[str, Value]
    runs: int
    pieces_inspected: float
    exposure: float
    observed: float
    expected: float
    ratio: float
    shrunk_ratio: float
    interval: Bounds
    chance_above: float
    money: float
    money_expected: float
    money_above: float
    share_of_money: float
    spoilage: Spoilage | None = None
    cost_per_1000_stitches: float = math.nan
    labels: Mapping[str, str] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """Say it as pages do: ``Machine M3``, ``Fabric terry towel, Backing tear-away``."""
        return ", ".join(
            f"{self.labels.get(column, column)} {level_label(column, value)}"
            for column, value in self.level.items()
        )

    @property
    def short_name(self) -> str:
        """The same without the names of the columns."""
        return ", ".join(level_label(column, value) for column, value in self.level.items())

    @property
    def above(self) -> bool:
        """Whether it surely lies above expectation."""
        return self.chance_above >= SURE

    @property
    def below(self) -> bool:
        """Whether it surely lies below."""
        return self.chance_above <= 1 - SURE

    def as_json(self, measure: Literal["pieces", "events"]) -> LevelJson:
        """Null where something cannot be said."""
        its = self.spoilage
        return {
            "level": dict(self.level),
            "runs": self.runs,
            "pieces_inspected": self.pieces_inspected,
            "stitches_sewn": self.exposure if measure == "events" else None,
            "observed": self.observed,
            "expected": self.expected,
            "ratio": json_number(self.ratio),
            "shrunk_ratio": json_number(self.shrunk_ratio),
            "interval": json_interval(self.interval),
            "chance_above": json_number(self.chance_above),
            "money": json_number(self.money),
            "money_expected": json_number(self.money_expected),
            "money_above": json_number(self.money_above),
            "share_of_money": json_number(self.share_of_money),
            "pieces_spoiled": its.spoiled if its else None,
            "spoiled_rate": json_number(its.rate) if its else None,
            "spoiled_interval": json_interval(its.interval) if its else None,
            "spoiled_allowed": its.allowed if its else None,
            "cost_per_1000_stitches": json_number(self.cost_per_1000_stitches),
        }


@dataclass(frozen=True, slots=True)
class SetupUse:
    """One value of the setup that a level uses more, or less, than the others on like fabrics."""

    level: Mapping[str, Value]
    column: str
    value: Value
    share: float
    share_of_others: float
    runs: int


@dataclass(frozen=True, slots=True)
class FunnelLine:
    """Limits that a share ``level`` of levels lies within: ratios by what was expected."""

    level: float
    expected: tuple[float, ...]
    lower: tuple[float, ...]
    upper: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class WhereResult:
    """Levels by money above expectation, most first.

    Attributes
    ----------
    defect, kind
        What is asked about; ``kind`` is None for money.
    by
        The columns; none where all were gone through.
    levels, total
        Each level, and all runs of the window together.
    setups
        How levels are set up otherwise than the rest on like fabrics.
    within
        Labels of what lies within the levels and so is no excuse of theirs.
    funnel
        Ratios within which levels lie where only luck is at work, by what was expected.
    unpriced
        Pieces counted in runs that did not write down what was spoiled or reworked.
    labels
        Column → how pages call it.
    """

    defect: str
    kind: DefectKind | None
    by: tuple[str, ...]
    since: date
    until: date
    currency: str
    levels: tuple[Level, ...]
    total: Level
    setups: tuple[SetupUse, ...]
    within: tuple[str, ...]
    funnel: tuple[FunnelLine, ...]
    unpriced: float
    costs_assumed: bool
    labels: Mapping[str, str]

    @property
    def of_money(self) -> bool:
        """Whether observed and expected are money."""
        return self.kind is None

    @property
    def measure(self) -> Literal["pieces", "events"]:
        """What is counted."""
        return "pieces" if self.kind is None else self.kind.measure

    @property
    def by_label(self) -> str:
        """Say by what: ``machine``, ``fabric and backing``."""
        return " and ".join(self.labels[each].lower() for each in self.by) or "every column"

    @property
    def priced(self) -> bool:
        """Whether it is known what these defects cost."""
        return not math.isnan(self.total.money_expected)

    def table(self) -> pl.DataFrame:
        """One row a level."""
        rows = []
        for each in self.levels:
            told: dict[str, Any] = {**each.as_json(self.measure)}
            level = told.pop("level")
            for name in ("interval", "spoiled_interval"):
                first = "" if name == "interval" else "spoiled_"
                told[f"{first}lower"], told[f"{first}upper"] = told.pop(name) or (None, None)
            rows.append(({"level": each.name} if not self.by else dict(level)) | told)
        return pl.DataFrame(rows, infer_schema_length=None)

    def as_json(self) -> AnswerJson:
        """Money in the shop's currency; null where it cannot be said."""
        return {
            "defect": self.defect,
            "by": list(self.by),
            "from": self.since.isoformat(),
            "to": self.until.isoformat(),
            "currency": self.currency,
            "measure": "money" if self.of_money else self.measure,
            "levels": [each.as_json(self.measure) for each in self.levels],
            "total": self.total.as_json(self.measure),
            "setups": [
                {
                    "level": dict(each.level),
                    "column": each.column,
                    "value": each.value,
                    "share": each.share,
                    "share_of_others": each.share_of_others,
                    "runs": each.runs,
                }
                for each in self.setups
            ],
        }
