"""What is different, where and since when; and the fields of its JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal, TypeAlias

import polars as pl
from typing_extensions import TypedDict

from logbook.runs.known_findings import Direction, Value, finding_ref
from logbook.vocabulary.defects import DefectKind
from logbook.wording import json_number

Grade: TypeAlias = Literal["found", "suspected"]
Values: TypeAlias = Mapping[str, Value]
FOUND, SUSPECTED = 52.0, 10.0
"""Weeks between two findings as great by luck alone."""


class LookedAtJson(TypedDict):
    """How much was looked at."""

    kinds: int
    columns: int
    levels: int
    windows: int


class KnownJson(TypedDict):
    """Why a finding is known."""

    how: Literal["action", "said"]
    what: str | None
    by: str | None
    since_week: str


class WeekJson(TypedDict):
    """One week of a finding's course."""

    week: str
    observed: float
    expected: float


class FindingJson(TypedDict):
    """One departure; ``money`` above expectation, less than nought where it was saved."""

    ref: str
    kind: str
    measure: Literal["pieces", "events"]
    direction: Direction
    level: dict[str, Value]
    confounded_with: list[dict[str, Value]]
    since: str
    since_day: str
    weeks: int
    observed: float
    expected: float
    exposure: float
    ratio: float | None
    recurrence_weeks: float | None
    grade: Grade
    money: float | None
    known: KnownJson | None
    says: str
    changed_beside: list[str]
    tells_apart: str | None
    look_first: list[str]
    cautions: list[str]
    runs: list[str]
    weekly: list[WeekJson]


class AnswerJson(TypedDict):
    """What the watch of a week, or of a day of it, found: news first."""

    week: str
    until: str
    currency: str
    looked_at: LookedAtJson
    findings: list[FindingJson]


@dataclass(frozen=True, slots=True)
class Week:
    """One week of a level: what came, and what was to be expected."""

    week: str
    observed: float
    expected: float


@dataclass(frozen=True, slots=True)
class KnownAs:
    """Why a finding is known, and since which review."""

    how: Literal["action", "said"]
    what: str | None
    by: str | None
    since_week: str


@dataclass(frozen=True, slots=True)
class Finding:
    """One departure from what was to be expected.

    Attributes
    ----------
    kind, direction, level
        What departs, which way, and where: no column for the whole shop.
    confounded_with
        Levels that hold nearly the same runs, or could as well be the cause.
    since, weeks
        Its first day, and how many weeks ending now it has lasted.
    observed, expected, exposure
        Since then.
    recurrence_weeks
        Weeks between two as great by luck alone; NaN for one that is known and was not sought.
    grade
        ``found`` or ``suspected``.
    money
        What it cost above expectation, less than nought where it saved; NaN where not known.
    known
        Why it is known; None for news.
    changed_beside, runs, weekly
        What else changed there when it began, its runs that show most, its last half year.
    """

    kind: DefectKind
    direction: Direction
    level: Values
    confounded_with: tuple[Values, ...]
    since: date
    weeks: int
    observed: float
    expected: float
    exposure: float
    recurrence_weeks: float
    grade: Grade
    money: float
    known: KnownAs | None
    changed_beside: tuple[str, ...]
    runs: tuple[str, ...]
    weekly: tuple[Week, ...]

    @property
    def ref(self) -> str:
        """The same departure has the same reference, week after week."""
        return finding_ref(self.kind.name, self.direction, self.level)

    @property
    def ratio(self) -> float:
        """Observed over expected; NaN where nothing was to be expected."""
        return self.observed / self.expected if self.expected > 0 else float("nan")


@dataclass(frozen=True, slots=True)
class LookedAt:
    """How much was looked at; all nought where the record is too short."""

    kinds: int = 0
    columns: int = 0
    levels: int = 0
    windows: int = 0


@dataclass(frozen=True, slots=True)
class WatchResult:
    """What the watch of a week found, news first."""

    week: str
    until: date
    currency: str
    looked_at: LookedAt
    findings: tuple[Finding, ...]

    @property
    def news(self) -> tuple[Finding, ...]:
        """Findings that nobody knows of yet."""
        return tuple(each for each in self.findings if each.known is None)

    def table(self) -> pl.DataFrame:
        """One row a finding."""
        return pl.DataFrame(
            [
                {
                    "kind": each.kind.name,
                    "direction": each.direction,
                    "level": each.ref.split(" ", 2)[2],
                    "since": each.since,
                    "weeks": each.weeks,
                    "observed": each.observed,
                    "expected": each.expected,
                    "ratio": each.ratio,
                    "recurrence_weeks": each.recurrence_weeks,
                    "grade": each.grade,
                    "money": each.money,
                    "known": each.known is not None,
                }
                for each in self.findings
            ]
        )

    def as_json(self) -> AnswerJson:
        """Counts as they were, money in the shop's currency; null where it cannot be said."""
        return {
            "week": self.week,
            "until": self.until.isoformat(),
            "currency": self.currency,
            "looked_at": {
                "kinds": self.looked_at.kinds,
                "columns": self.looked_at.columns,
                "levels": self.looked_at.levels,
                "windows": self.looked_at.windows,
            },
            "findings": [finding_json(each, self.currency) for each in self.findings],
        }


def finding_json(each: Finding, currency: str) -> FindingJson:
    """One finding's fields."""
    from logbook.calendar_weeks import iso_week
    from logbook.questions.watch.words.findings import cautions, look_first, says, tells_apart

    known = each.known
    return {
        "ref": each.ref,
        "kind": each.kind.name,
        "measure": each.kind.measure,
        "direction": each.direction,
        "level": dict(each.level),
        "confounded_with": [dict(other) for other in each.confounded_with],
        "since": iso_week(each.since),
        "since_day": each.since.isoformat(),
        "weeks": each.weeks,
        "observed": each.observed,
        "expected": round(each.expected, 2),
        "exposure": each.exposure,
        "ratio": json_number(each.ratio),
        "recurrence_weeks": json_number(each.recurrence_weeks),
        "grade": each.grade,
        "money": json_number(each.money),
        "known": None
        if known is None
        else {
            "how": known.how,
            "what": known.what,
            "by": known.by,
            "since_week": known.since_week,
        },
        "says": says(each, currency),
        "changed_beside": list(each.changed_beside),
        "tells_apart": tells_apart(each),
        "look_first": list(look_first(each)),
        "cautions": list(cautions(each)),
        "runs": list(each.runs),
        "weekly": [
            {"week": one.week, "observed": one.observed, "expected": round(one.expected, 2)}
            for one in each.weekly
        ],
    }
