"""What was touched: runs, jobs, customers and pieces, and what they showed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import polars as pl
from typing_extensions import TypedDict

from logbook.runs.address import Level
from logbook.runs.plain import plain_run
from logbook.vocabulary.defects import DefectKind
from logbook.wording import json_number


class TracedKindJson(TypedDict):
    """One kind: pieces that show it or events, and how many were to be expected."""

    kind: str
    observed: int
    expected: float | None


class AnswerJson(TypedDict):
    """Everything that was touched."""

    of: dict[str, str | float | bool | None]
    runs: list[dict[str, Any]]
    jobs: list[str]
    customers: list[str]
    pieces_sewn: int
    pieces_inspected: int
    kinds: list[TracedKindJson]
    money: float | None
    held: list[str]


@dataclass(frozen=True, slots=True)
class Counts:
    """One kind of defect over the runs touched; ``expected`` is None where it cannot be said."""

    kind: DefectKind
    observed: int
    expected: float | None


@dataclass(frozen=True, slots=True)
class JobTouched:
    """One job that was touched, with its runs among those touched, and when the last one ended."""

    job: str
    customer: str | None
    runs: int
    pieces: int
    last: datetime


@dataclass(frozen=True, slots=True, eq=False)
class TraceResult:
    """Everything that something touched.

    Attributes
    ----------
    of
        Column to value; None for what is not recorded.
    runs
        The runs, oldest first, with what the book makes of them.
    jobs, customers
        Those that are written down; jobs in the order in which they were touched.
    pieces_sewn, pieces_inspected
        Of the runs.
    counts
        Kind by kind.
    money
        What defects cost in these runs, as far as it is known; NaN where nothing is.
    unpriced
        Labels of the kinds whose cost nobody wrote down.
    held
        References of runs whose needle parts are missing.
    currency, costs_assumed
        As of the shop.
    """

    of: Mapping[str, Level]
    runs: pl.DataFrame
    jobs: tuple[JobTouched, ...]
    customers: tuple[str, ...]
    pieces_sewn: int
    pieces_inspected: int
    counts: tuple[Counts, ...]
    money: float
    unpriced: tuple[str, ...]
    held: tuple[str, ...]
    currency: str
    costs_assumed: bool

    def as_json(self) -> AnswerJson:
        """The fields that users' scripts rely on."""
        return {
            "of": dict(self.of),
            "runs": [plain_run(run) for run in self.runs.iter_rows(named=True)],
            "jobs": [each.job for each in self.jobs],
            "customers": list(self.customers),
            "pieces_sewn": self.pieces_sewn,
            "pieces_inspected": self.pieces_inspected,
            "kinds": [
                {
                    "kind": each.kind.name,
                    "observed": each.observed,
                    "expected": json_number(each.expected),
                }
                for each in self.counts
            ],
            "money": json_number(self.money),
            "held": list(self.held),
        }

    def table(self) -> pl.DataFrame:
        """The runs."""
        return self.runs
