"""A design sewn from another stitch file than before: a change of the setup like any other."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, time, timedelta

import polars as pl

from logbook.calendar_weeks import days_of
from logbook.questions.review.mix import Change
from logbook.runs.designs import Design, DesignVersion
from logbook.wording import number

FACTOR = "design_version"


def file_changes(
    designs: Sequence[Design], week_runs: pl.DataFrame, week: str
) -> tuple[Change, ...]:
    """Name the designs that a new version began to be sewn of in a week.

    Parameters
    ----------
    designs
        The shop's designs with their versions.
    week_runs
        Run frame of the week.
    week
        Which week.

    Returns
    -------
    tuple of Change
        The one with most pieces first; shares are of the week's pieces.
    """
    monday, sunday = days_of(week)
    begins = datetime.combine(monday, time())
    ends = datetime.combine(sunday + timedelta(days=1), time())
    sewn = week_runs.group_by("design", "design_version").agg(pl.col("pieces_sewn").sum())
    pieces = {
        (name, mark): float(count) for name, mark, count in sewn.iter_rows() if count is not None
    }
    every = sum(pieces.values())
    found = []
    for design in designs:
        for before, after in zip(design.versions, design.versions[1:], strict=False):
            if begins <= after.since < ends:
                found.append(_change(design, before, after, pieces, every))
    return tuple(sorted(found, key=lambda change: -change.pieces))


def _change(
    design: Design,
    before: DesignVersion,
    after: DesignVersion,
    pieces: dict[tuple[str, str], float],
    every: float,
) -> Change:
    sewn = pieces.get((design.name, after.mark), 0.0)
    counted = f"{number(sewn)} {'piece' if sewn == 1 else 'pieces'} sewn from it this week"
    rests_on = counted if sewn else "no pieces sewn from it are recorded for this week"
    says = (
        f"Design {design.name} has a new stitch file since {after.since:%A}: "
        f"{number(after.stitches)} stitches instead of {number(before.stitches)}, "
        f"{after.density_densest:.1f} stitches/mm² in the densest place instead of "
        f"{before.density_densest:.1f} ({rests_on})."
    )
    share = sewn / every if every else 0.0
    return Change(FACTOR, design.name, "new", share, 0.0, sewn, every, says)
