"""Where marks of defects lie on a design, and the fields of the answer's JSON."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import polars as pl
from typing_extensions import TypedDict

from logbook.kernels.point_density import PointDensityFit
from logbook.questions.places import words
from logbook.wording import json_number

FALSE_FINDINGS = 0.05


class KindJson(TypedDict):
    """Marks of one kind."""

    kind: str
    marks: int
    runs: int
    share_in_densest: float | None
    stitches_in_densest: float | None
    densest_from: float | None
    mean_standing: float | None
    p_value: float | None
    q_value: float | None
    leans: bool | None
    interval: list[float | None]
    finding: str


class AnswerJson(TypedDict):
    """Shares as fractions."""

    design: str
    kinds: list[KindJson]


@dataclass(frozen=True, slots=True, eq=False)
class KindPlaces:
    """Marks of one kind on one design.

    ``q_value`` allows for having looked at every kind (Benjamini and Hochberg 1995); None, like
    ``leans``, where the marks are of too few runs to say. On an ``even`` design the densest
    places are hardly denser than the rest, and nothing leans.
    """

    kind: str
    label: str
    fit: PointDensityFit
    q_value: float | None
    even: bool = False

    @property
    def leans(self) -> bool | None:
        """Whether the marks sit in denser places beyond chance.

        Nothing is said of more open places: taps that miss land there on average, since a
        design is more open towards its edge.
        """
        if self.q_value is None or self.even:
            return None
        return self.q_value <= FALSE_FINDINGS and self.fit.mean_standing > 0.5


@dataclass(frozen=True, slots=True, eq=False)
class PlacesResult:
    """Every kind that was marked on one design, the clearest first."""

    design: str
    kinds: tuple[KindPlaces, ...]

    def table(self) -> pl.DataFrame:
        """One row a kind."""
        return pl.DataFrame([_row(each) for each in self.kinds])

    def as_json(self) -> AnswerJson:
        """Shares as fractions."""
        return {"design": self.design, "kinds": [_json(each) for each in self.kinds]}


def _json(each: KindPlaces) -> KindJson:
    fit = each.fit
    return {
        "kind": each.kind,
        "marks": fit.marks,
        "runs": fit.groups,
        "share_in_densest": json_number(fit.top_share),
        "stitches_in_densest": json_number(fit.top),
        "densest_from": json_number(fit.top_at_least),
        "mean_standing": json_number(fit.mean_standing),
        "p_value": json_number(fit.p_value),
        "q_value": each.q_value,
        "leans": each.leans,
        "interval": [json_number(fit.top_lower), json_number(fit.top_upper)],
        "finding": words.kind_said(each),
    }


def _row(each: KindPlaces) -> dict[str, Any]:
    fit = each.fit
    return {
        "kind": each.kind,
        "marks": fit.marks,
        "runs": fit.groups,
        "share_in_densest": json_number(fit.top_share),
        "lower": json_number(fit.top_lower),
        "upper": json_number(fit.top_upper),
        "stitches_in_densest": json_number(fit.top),
        "densest_from": json_number(fit.top_at_least),
        "mean_standing": json_number(fit.mean_standing),
        "p_value": json_number(fit.p_value),
        "q_value": each.q_value,
        "leans": each.leans,
    }
