"""What a control chart answers: its points, and what stands out, in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal, NotRequired, TypeAlias

import polars as pl
from typing_extensions import TypedDict

from logbook.kernels.limits import OverDispersion
from logbook.questions.control.stretches import Direction, Signal
from logbook.vocabulary.defects import DefectKind
from logbook.wording import PER_STITCHES, json_number, number

By: TypeAlias = Literal["run", "day", "week", "month"]
Drawn: TypeAlias = Literal["plain", "laney"]

ChartName: TypeAlias = Literal["p", "u", "p_prime", "u_prime"]

_CHART: dict[tuple[str, str], ChartName] = {
    ("pieces", "plain"): "p",
    ("pieces", "laney"): "p_prime",
    ("events", "plain"): "u",
    ("events", "laney"): "u_prime",
}


def periods(number_of: int, by: By) -> str:
    """Say how many points: ``1 week``, ``26 weeks``."""
    return f"{number(number_of)} {by}{'' if number_of == 1 else 's'}"


class OverDispersionJson(TypedDict):
    """Whether points vary more than counting alone would make them."""

    ratio: float | None
    statistic: float | None
    degrees_of_freedom: int
    p_value: float | None


class PointJson(TypedDict):
    """A point of the chart."""

    label: str
    day: NotRequired[str]
    runs: int
    exposure: float
    count: float
    rate: float | None
    lower: float | None
    upper: float | None
    in_baseline: bool
    signals: list[str]
    per_100k_stitches: NotRequired[float | None]


BaselineJson = TypedDict(
    "BaselineJson", {"from": str, "to": str, "points": int, "count": int, "exposure": float}
)


class SignalJson(TypedDict):
    """One rule that one point completes."""

    label: str
    rule: str
    direction: Direction
    says: str


class AnswerJson(TypedDict):
    """The ``chart`` object, with more beside."""

    kind: str
    label: str
    chart: ChartName
    by: By
    measure: Literal["pieces", "events"]
    centre: float | None
    centre_interval: list[float | None]
    sigma_z: float | None
    spread: Drawn
    spread_reason: str
    over_dispersion: OverDispersionJson
    baseline: BaselineJson
    points: list[PointJson]
    signals: list[SignalJson]


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
    def chart(self) -> ChartName:
        """``p``, ``u``, ``p_prime`` or ``u_prime``."""
        return _CHART[self.kind.measure, self.spread]

    def table(self) -> pl.DataFrame:
        """The points, tidy."""
        return self.points

    def as_json(self) -> AnswerJson:
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
        }

    def _point(self, row: dict[str, Any]) -> PointJson:
        point: PointJson = {
            "label": row["label"],
            "runs": row["runs"],
            "exposure": row["exposure"],
            "count": row["count"],
            "rate": json_number(row["rate"]),
            "lower": json_number(row["lower"]),
            "upper": json_number(row["upper"]),
            "in_baseline": row["in_baseline"],
            "signals": row["signals"],
        }
        if "day" in row:
            point["day"] = row["day"]
        if self.kind.measure == "events":
            point["per_100k_stitches"] = json_number(row["rate"] * PER_STITCHES)
        return point
