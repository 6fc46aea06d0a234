"""What advice answers: figures, settings, words, and the fields of its JSON."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import polars as pl
from typing_extensions import TypedDict

from logbook.questions.advice import words
from logbook.questions.advice.job import SETUP, Job
from logbook.questions.advice.rules import RuleHere, RuleJson
from logbook.questions.advice.suggestion import Bounds, Suggestion, SuggestionJson
from logbook.runs.factors import factor_label, level_label
from logbook.wording import json_number


class JobJson(TypedDict):
    """The job as it was understood."""

    fabric: str
    design: str | None
    density_band: str | None
    fabric_shade: str | None
    told: list[str]
    never_seen: dict[str, str]


class NowJson(TypedDict):
    """The setup now, and what to expect of it."""

    setup: dict[str, str | None]
    expected_rate: float | None
    interval: list[float]
    runs: int
    pieces: int


class AnswerJson(TypedDict):
    """Rates as fractions, money in the shop's currency."""

    job: JobJson
    now: NowJson
    suggestions: list[SuggestionJson]
    rules: list[RuleJson]
    candidates: int
    level: float
    currency: str
    lines: list[str]


@dataclass(frozen=True, slots=True, eq=False)
class AdviceResult:
    """Suggested changes of a setup for one job.

    Attributes
    ----------
    job
        What was asked, and the setup that it starts from.
    expected_rate, interval
        Share of pieces with any defect to expect of the setup now, on new lots of backing.
    runs, pieces
        Like runs with the backing as now.
    suggestions
        Single changes by expected saving, then double ones, then those only worth a trial.
    candidates
        How many changes the record supports at all.
    rules
        Rules of thumb that speak to the job.
    level, currency
        Of the intervals; of money.
    notes
        What the figures rest on and leave out.
    """

    job: Job
    expected_rate: float
    interval: Bounds
    runs: int
    pieces: float
    suggestions: tuple[Suggestion, ...]
    candidates: int
    rules: tuple[RuleHere, ...]
    level: float
    currency: str
    notes: tuple[str, ...]

    def lines(self) -> tuple[str, ...]:
        """One paragraph for each suggestion."""
        return tuple(words.line(self, each) for each in self.suggestions)

    def setup_words(self) -> tuple[tuple[str, str], ...]:
        """Label and word of each part of the setup now."""
        return tuple(
            (factor_label(name), level_label(name, self.job.setup.get(name))) for name in SETUP
        )

    def table(self) -> pl.DataFrame:
        """One row a suggestion."""
        return pl.DataFrame(
            [
                {
                    "change": each.words(),
                    "expected_rate": each.expected_rate,
                    "lower": each.interval[0],
                    "upper": each.interval[1],
                    "saving_per_100": each.saving_per_100,
                    "saving_lower": each.saving_interval[0],
                    "saving_upper": each.saving_interval[1],
                    "chance_better": each.chance_better,
                    "runs": each.runs,
                    "pieces_inspected": each.pieces,
                    "evidence": each.evidence,
                }
                for each in self.suggestions
            ],
            schema=_COLUMNS,
        )

    def as_json(self) -> AnswerJson:
        """Answer rates as fractions, money in the shop's currency."""
        job = self.job
        return {
            "job": {
                "fabric": job.fabric,
                "design": job.design,
                "density_band": job.density_band,
                "fabric_shade": job.fabric_shade,
                "told": sorted(job.given),
                "never_seen": dict(job.unseen),
            },
            "now": {
                "setup": dict(job.setup),
                "expected_rate": json_number(self.expected_rate),
                "interval": list(self.interval),
                "runs": self.runs,
                "pieces": round(self.pieces),
            },
            "suggestions": [each.as_json() for each in self.suggestions],
            "rules": [each.as_json() for each in self.rules],
            "candidates": self.candidates,
            "level": self.level,
            "currency": self.currency,
            "lines": list(self.lines()),
        }


_COLUMNS: dict[str, Any] = {
    "change": pl.String,
    "expected_rate": pl.Float64,
    "lower": pl.Float64,
    "upper": pl.Float64,
    "saving_per_100": pl.Float64,
    "saving_lower": pl.Float64,
    "saving_upper": pl.Float64,
    "chance_better": pl.Float64,
    "runs": pl.Int64,
    "pieces_inspected": pl.Float64,
    "evidence": pl.String,
}
