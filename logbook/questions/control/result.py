"""What a control chart answers: its points, and what stands out, in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal, TypeAlias

import polars as pl

from logbook.kernels.limits import OverDispersion
from logbook.questions.control.stretches import Signal, told_together
from logbook.vocabulary.defects import DefectKind
from logbook.wording import PER_STITCHES, json_number, number, rate_words

By: TypeAlias = Literal["run", "day", "week", "month"]
Drawn: TypeAlias = Literal["plain", "laney"]

_CHART = {
    ("pieces", "plain"): "p",
    ("pieces", "laney"): "p_prime",
    ("events", "plain"): "u",
    ("events", "laney"): "u_prime",
}


def periods(number_of: int, by: By) -> str:
    """Say how many points: ``1 week``, ``26 weeks``."""
    return f"{number(number_of)} {by}{'' if number_of == 1 else 's'}"


@dataclass(frozen=True, slots=True, eq=False)
class ControlResult:
    """A control chart of one kind of defect.

    Attributes
    ----------
    kind
        The kind of defect.
    by
        What a point is.
    spread, spread_reason
        ``plain`` or ``laney`` limits, and why.
    centre, centre_interval
        The usual rate, per piece or per stitch, with its 95 % interval by counting alone.
    baseline
        First and last label of the points that set the usual rate.
    baseline_points, baseline_count, baseline_exposure
        How much it rests on.
    sigma_z
        How many times wider than counting alone the limits are.
    dispersion
        Whether the baseline points vary more than counting alone would make them.
    points
        One row a point in order of time: ``label``, ``day`` (by run only), ``runs``,
        ``exposure``, ``count``, ``rate``, ``lower``, ``upper``, ``z``, ``in_baseline``,
        ``signals`` (names of the rules it completes).
    signals
        Every signal in words, in order of time.
    notes
        What to keep in mind.
    """

    kind: DefectKind
    by: By
    spread: Drawn
    spread_reason: str
    centre: float
    centre_interval: tuple[float, float]
    baseline: tuple[str, str]
    baseline_points: int
    baseline_count: int
    baseline_exposure: float
    sigma_z: float
    dispersion: OverDispersion
    points: pl.DataFrame
    signals: tuple[Signal, ...]
    notes: tuple[str, ...]

    @property
    def chart(self) -> str:
        """``p``, ``u``, ``p_prime`` or ``u_prime``."""
        return _CHART[self.kind.measure, self.spread]

    def table(self) -> pl.DataFrame:
        """The points, tidy."""
        return self.points

    def usual(self) -> str:
        """Say the usual rate with its doubt, without a stop."""
        rate = rate_words(
            self.kind.measure,
            self.baseline_count,
            self.baseline_exposure,
            self.centre,
            self.centre_interval,
        )
        usual = f"{self.kind.label}: {rate} over {periods(self.baseline_points, self.by)}"
        if self.spread != "laney" or self.points.height < 2:
            return usual
        return (
            f"{usual} (more between {self.by}s than counting explains, so the doubt is wider than "
            "that)"
        )

    def finding(self) -> str:
        """Say the usual rate with its doubt, and whether anything stands out from it."""
        if self.points.height < 2:
            return f"{self.usual()}; there is nothing to compare it with yet."
        if not self.signals:
            return f"{self.usual()}. No {self.by} stands out from the usual up and down."
        labels = {signal.label for signal in self.signals}
        verb = "stands" if len(labels) == 1 else "stand"
        return f"{self.usual()}. {periods(len(labels), self.by)} {verb} out; the latest: " + (
            self.signals[-1].says
        )

    def further_signals(self) -> tuple[str, ...]:
        """What stands out besides the latest, newest first, stretches told as one."""
        told = told_together(self.signals, self.points["label"].to_list(), self.by)
        latest = self.signals[-1].says if self.signals else ""
        return tuple(says for says in reversed(told) if says != latest)

    def as_json(self) -> dict[str, Any]:
        """Answer the ``chart`` object, with more beside."""
        lower, upper = self.centre_interval
        return {
            "kind": self.kind.name,
            "label": self.kind.label,
            "chart": self.chart,
            "by": self.by,
            "measure": self.kind.measure,
            "centre": json_number(self.centre),
            "centre_interval": [json_number(lower), json_number(upper)],
            "sigma_z": json_number(self.sigma_z),
            "spread": self.spread,
            "spread_reason": self.spread_reason,
            "over_dispersion": {
                "ratio": json_number(self.dispersion.ratio),
                "statistic": json_number(self.dispersion.statistic),
                "degrees_of_freedom": self.dispersion.degrees_of_freedom,
                "p_value": json_number(self.dispersion.p_value_small_counts),
            },
            "baseline": {
                "from": self.baseline[0],
                "to": self.baseline[1],
                "points": self.baseline_points,
                "count": self.baseline_count,
                "exposure": self.baseline_exposure,
            },
            "points": [self._point(row) for row in self.points.iter_rows(named=True)],
            "signals": [
                {
                    "label": signal.label,
                    "rule": signal.rule,
                    "direction": signal.direction,
                    "says": signal.says,
                }
                for signal in self.signals
            ],
            "finding": self.finding(),
            "notes": list(self.notes),
        }

    def _point(self, row: dict[str, Any]) -> dict[str, Any]:
        point = {key: value for key, value in row.items() if key != "z"}
        for key in ("rate", "lower", "upper"):
            point[key] = json_number(row[key])
        if self.kind.measure == "events":
            point["per_100k_stitches"] = json_number(row["rate"] * PER_STITCHES)
        return point
