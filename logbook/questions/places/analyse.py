"""Whether defects sit where the design is densest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from logbook.errors import TooLittleData
from logbook.kernels.multiplicity import false_discovery
from logbook.kernels.places import PlacesFit, density_of_places
from logbook.wording import json_number, number, percent, percent_interval

QUESTION = "Do defects sit where the design is densest?"

FEWEST_RUNS = 6
"""With five runs even five alike could be chance: 2 / 2^5 is more than 5 %."""
TOP = 0.1
MOSTLY = 0.5
"""From this share of the marks on, a kind is said to sit there."""
FALSE_FINDINGS = 0.05
CONTRAST = 1.1
"""The densest tenth has to be so many times as dense as the middle stitch for places to tell."""


@dataclass(frozen=True, slots=True, eq=False)
class KindPlaces:
    """Marks of one kind on one design.

    ``q_value`` allows for having looked at every kind (Benjamini and Hochberg 1995); None, like
    ``leans``, where the marks are of too few runs to say. On an ``even`` design the densest
    places are hardly denser than the rest, and nothing leans.
    """

    kind: str
    label: str
    fit: PlacesFit
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

    def finding(self) -> str:
        """Where the marks sit, with what that rests on."""
        fit = self.fit
        doubt = percent_interval((fit.top_lower, fit.top_upper))
        runs = "1 run" if fit.groups == 1 else f"{number(fit.groups)} runs"
        marks = "1 mark" if fit.marks == 1 else f"{number(fit.marks)} marks"
        figures = (
            f"{percent(fit.top_share, 0)} of {marks} from {runs} ({doubt}) in the densest "
            f"places, which hold {percent(fit.top, 0)} of the stitches"
        )
        if self.even:
            return f"{self.label}: {figures}; the rest is about as dense, so that tells nothing."
        if self.leans is None:
            return (
                f"{self.label}: {figures}; too early to say, from {FEWEST_RUNS} runs on it can "
                "be told."
            )
        if not self.leans:
            return f"{self.label} shows no leaning to dense places: {figures}."
        if fit.top_lower > fit.top:
            how = "sits in" if fit.top_share >= MOSTLY else "leans to"
            return f"{self.label} {how} the densest tenth of this design: {figures}."
        return f"{self.label} sits in the denser parts of this design: {figures}."


@dataclass(frozen=True, slots=True, eq=False)
class PlacesResult:
    """Every kind that was marked on one design, the clearest first."""

    design: str
    kinds: tuple[KindPlaces, ...]
    notes: tuple[str, ...]

    def finding(self) -> str:
        """The clearest leaning, or that there is none."""
        if self.kinds[0].even:
            return (
                f"{self.design} is about as dense everywhere: where its defects sit cannot tell "
                "whether density is the cause."
            )
        leaning = [each for each in self.kinds if each.leans]
        if leaning:
            return leaning[0].finding()
        if all(each.leans is None for each in self.kinds):
            return self.kinds[0].finding()
        return f"No kind leans to dense places of this design. {self.kinds[0].finding()}"

    def table(self) -> pl.DataFrame:
        """One row a kind."""
        return pl.DataFrame([_row(each) for each in self.kinds])

    def as_json(self) -> dict[str, Any]:
        """Shares as fractions."""
        rows = [_row(each) for each in self.kinds]
        for row, each in zip(rows, self.kinds, strict=True):
            row["interval"] = [row.pop("lower"), row.pop("upper")]
            row["finding"] = each.finding()
        return {
            "design": self.design,
            "finding": self.finding(),
            "kinds": rows,
            "notes": list(self.notes),
        }


def analyse(
    marks: pl.DataFrame,
    *,
    stitch_density: NDArray[np.float64],
    design: str,
    labels: Mapping[str, str],
) -> PlacesResult:
    """Hold marks of defects against the density of the design that they are on.

    Parameters
    ----------
    marks
        One row a mark: ``kind``, ``run_ref`` and ``density`` (stitches per mm2 at the mark).
    stitch_density
        (N,) the same density at each stitch of the design.
    design
        Its name.
    labels
        What people call each kind.

    Raises
    ------
    TooLittleData
        There is no mark.
    """
    if marks.is_empty():
        raise TooLittleData(
            f"No places of defects are marked on {design}.",
            "tap on the drawing of the design when a defect is logged",
            needed=1,
            got=0,
            unit="marks",
        )
    counted = marks["kind"].value_counts().sort(["count", "kind"], descending=[True, False])
    kinds = counted["kind"].to_list()
    fits = [_fit(marks.filter(pl.col("kind") == kind), stitch_density) for kind in kinds]
    able = [place for place, fit in enumerate(fits) if fit.groups >= FEWEST_RUNS]
    q_values = dict(
        zip(able, false_discovery(p_values=[fits[at].p_value for at in able]), strict=True)
        if able
        else ()
    )
    even = fits[0].top_at_least < CONTRAST * float(np.median(stitch_density))
    found = [
        KindPlaces(
            kind, labels.get(kind, kind), fit, float(q_values[at]) if at in q_values else None, even
        )
        for at, (kind, fit) in enumerate(zip(kinds, fits, strict=True))
    ]
    found.sort(key=lambda each: (not each.leans, 2.0 if each.q_value is None else each.q_value))
    return PlacesResult(design, tuple(found), _notes(found))


def _fit(marks: pl.DataFrame, stitch_density: NDArray[np.float64]) -> PlacesFit:
    runs = marks["run_ref"].rank("dense").to_numpy().astype(np.int64)
    return density_of_places(
        mark_density=marks["density"].to_numpy(),
        stitch_density=stitch_density,
        groups=runs,
        top=TOP,
    )


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


def _notes(found: Sequence[KindPlaces]) -> tuple[str, ...]:
    notes = [
        "A tap is a thumb wide: places are good to some millimetres.",
    ]
    if any(each.leans for each in found):
        notes.append(
            "Dense places are also where outlines, small letters and layers meet: open the "
            "density there in a trial before taking it for the cause."
        )
    return tuple(notes)
