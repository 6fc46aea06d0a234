"""How things stand, and the fields of its JSON."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal, TypeAlias

import polars as pl
from typing_extensions import TypedDict

from logbook.wording import json_interval, json_number

Sort: TypeAlias = Literal["held", "action"]
Stands: TypeAlias = Literal["above", "below", "usual", "unknown"]
Measured: TypeAlias = Literal["pieces", "share", "money", "events"]


class NeedJson(TypedDict):
    """One thing that needs somebody, and where it is seen to."""

    sort: str
    says: str
    about: str


class CourseJson(TypedDict):
    """One figure of the shop, week by week, and the range that is usual."""

    name: str
    label: str
    weeks: list[str]
    values: list[float | None]
    usual: list[float] | None
    stands: str


class MachineJson(TypedDict):
    """What was sewn last on a machine."""

    machine: str
    run_ref: str
    finished_at: str
    job: str | None
    design: str | None
    pieces_inspected: int | None
    pieces_defective: int | None


class AnswerJson(TypedDict):
    """Money in the shop's currency, rates as fractions and per stitch."""

    day: str
    week: str | None
    week_over: bool
    needs: list[NeedJson]
    courses: list[CourseJson]
    machines: list[MachineJson]


@dataclass(frozen=True, slots=True)
class Need:
    """One thing that needs somebody: ``about`` is a run's reference, or an action's."""

    sort: Sort
    says: str
    about: str


@dataclass(frozen=True, slots=True)
class Course:
    """One figure of the shop over the last weeks.

    Attributes
    ----------
    name, label, measured
        What it is: ``pieces``, ``any``, ``money`` or ``thread_breaks``.
    weeks, values
        (W,) weeks, oldest first, and the figure of each; None where it is not known.
    usual
        The range that is usual in the last of the weeks, ends included; None where too few weeks
        tell.
    stands
        Where the last week that is over lies, ``unknown`` where that cannot be said.
    """

    name: str
    label: str
    measured: Measured
    weeks: tuple[str, ...]
    values: tuple[float | None, ...]
    usual: tuple[float, float] | None
    stands: Stands


@dataclass(frozen=True, slots=True)
class LastOfMachine:
    """What was sewn last on a machine; the pieces are None where nobody counted them."""

    machine: str
    run_ref: str
    finished_at: datetime
    job: str | None
    design: str | None
    pieces_inspected: int | None
    pieces_defective: int | None


@dataclass(frozen=True, slots=True)
class TodayResult:
    """How things stand on ``day``; ``week`` is the newest with runs, None in an empty book."""

    day: date
    week: str | None
    week_over: bool
    currency: str
    needs: tuple[Need, ...]
    courses: tuple[Course, ...]
    machines: tuple[LastOfMachine, ...]

    def table(self) -> pl.DataFrame:
        """One row a figure and week."""
        rows = [
            {"figure": each.name, "week": week, "value": value}
            for each in self.courses
            for week, value in zip(each.weeks, each.values, strict=True)
        ]
        return pl.DataFrame(
            rows, schema={"figure": pl.String, "week": pl.String, "value": pl.Float64}
        )

    def as_json(self) -> AnswerJson:
        """Rates as fractions, breaks per stitch, money in the shop's currency."""
        return {
            "day": self.day.isoformat(),
            "week": self.week,
            "week_over": self.week_over,
            "needs": [NeedJson(sort=e.sort, says=e.says, about=e.about) for e in self.needs],
            "courses": [
                {
                    "name": each.name,
                    "label": each.label,
                    "weeks": list(each.weeks),
                    "values": [json_number(value) for value in each.values],
                    "usual": None if each.usual is None else json_interval(each.usual),
                    "stands": each.stands,
                }
                for each in self.courses
            ],
            "machines": [
                {
                    "machine": each.machine,
                    "run_ref": each.run_ref,
                    "finished_at": each.finished_at.isoformat(),
                    "job": each.job,
                    "design": each.design,
                    "pieces_inspected": each.pieces_inspected,
                    "pieces_defective": each.pieces_defective,
                }
                for each in self.machines
            ],
        }
