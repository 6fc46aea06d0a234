"""What an order will lose, by the shop's own record of what was spoiled and reworked."""

from __future__ import annotations

import math
from collections.abc import Sequence

import polars as pl

from logbook.adjusted_comparison import CELLS_BY, FittedKind, Outlook, fit_kinds, outlook
from logbook.errors import TooLittleData
from logbook.kernels.predictive_counts import (
    Share,
    chance_of_enough,
    pieces_to_begin,
    predicted_count,
    share_of,
)
from logbook.questions.advice.job import Job
from logbook.questions.forecast.result import CHANCE, ForecastResult, KindForecast
from logbook.shop import Shop
from logbook.vocabulary.defects import DefectKind

KINDS_TOLD = 5
"""Kinds of defect that are told ahead: those shown most on such fabric."""
FEWEST_ALIKE = 3
"""Runs of the design on the fabric from which on its own time is taken."""
DRAWN = 40
"""Steps of the chance drawn at most."""


def _of_record(column: str, label: str) -> DefectKind:
    """What became of pieces, as a kind that the model can be fitted for."""
    return DefectKind(
        column, label, definition=label, usual_levers=(), remedies=(), source="the run sheet"
    )


SPOILED = _of_record("pieces_spoiled", "Pieces spoiled")
REWORKED = _of_record("pieces_reworked", "Pieces reworked")


def analyse(
    cells: pl.DataFrame,
    totals: pl.DataFrame,
    *,
    job: Job,
    pieces: int,
    kinds: Sequence[DefectKind],
    shop: Shop,
) -> ForecastResult:
    """Look ahead to an order.

    Parameters
    ----------
    cells
        Cells of the piece kinds and of any defect, in words, grouped by ``CELLS_BY``.
    totals
        Whole-run sums, grouped so too.
    job
        What is to be sewn, and with what.
    pieces
        Good pieces wanted.
    kinds
        Piece kinds.
    shop
        Its usual minutes of rework.

    Raises
    ------
    TooLittleData
        No run says how many pieces were spoiled.
    """
    like = totals.filter(pl.col("fabric") == job.fabric)
    shown = _shown_most(cells, job.fabric, kinds)
    told = [SPOILED, REWORKED, *shown]
    stacked = _stacked(cells, totals, told)
    fitted = {each.kind.name: each for each in fit_kinds(stacked, kinds=told)}
    runs = _runs_of(like, pieces)
    shares = {
        each.name: _share(stacked.filter(pl.col("kind") == each.name), fitted, each, job, runs)
        for each in told
    }
    lost_share = shares[SPOILED.name]
    if lost_share is None:
        raise TooLittleData(
            "No run among those asked about says how many pieces were spoiled.",
            "write pieces_spoiled down, 0 where none was",
            needed=1,
            got=0,
            unit="runs",
        )
    order = pieces_to_begin(wanted=pieces, share=lost_share, chance=CHANCE)
    begun = pieces if order is None else order
    reworked = shares[REWORKED.name]
    rework = None if reworked is None else begun * reworked.mean
    own = like.filter(pl.col("design") == job.design) if job.design is not None else like.clear()
    return ForecastResult(
        job=job,
        pieces=pieces,
        lost=predicted_count(pieces=begun, share=lost_share, level=CHANCE),
        order=order,
        rework=rework,
        rework_minutes=None if rework is None else rework * _minutes_of_rework(totals, shop),
        minutes=_minutes(own if own.height >= FEWEST_ALIKE else like, begun),
        runs=like.height,
        design_runs=own.height,
        pieces_inspected=int(like["pieces_inspected"].sum()),
        modelled=SPOILED.name in fitted,
        kinds=tuple(
            KindForecast(kind, predicted_count(pieces=begun, share=share, level=CHANCE))
            for kind in shown
            if (share := shares[kind.name]) is not None
        ),
        chances=_chances(pieces, order, lost_share),
        notes=(),
    )


def _stacked(cells: pl.DataFrame, totals: pl.DataFrame, told: Sequence[DefectKind]) -> pl.DataFrame:
    """Cells of all that is told ahead: what became of pieces, then kinds of defect."""
    fates = [_counted(totals, each) for each in (SPOILED, REWORKED)]
    shown = cells.filter(pl.col("kind").is_in([each.name for each in told]))
    return pl.concat([*fates, shown.select(fates[0].columns)], how="vertical_relaxed")


def _counted(totals: pl.DataFrame, kind: DefectKind) -> pl.DataFrame:
    """Cells of what became of pieces, from the runs that say it."""
    sewn = pl.coalesce("pieces_sewn", "pieces_inspected")
    return totals.filter(pl.col(kind.name).is_not_null(), sewn > 0).select(
        pl.lit(kind.name).alias("kind"),
        *CELLS_BY,
        pl.col("runs").cast(pl.Float64),
        sewn.cast(pl.Float64).alias("exposure"),
        pl.col(kind.name).cast(pl.Float64).alias("count"),
    )


def _shown_most(
    cells: pl.DataFrame, fabric: str, kinds: Sequence[DefectKind]
) -> tuple[DefectKind, ...]:
    own = cells.filter(pl.col("fabric") == fabric)
    counts = dict(own.group_by("kind").agg(pl.col("count").sum()).iter_rows())
    seen = [each for each in kinds if counts.get(each.name)]
    return tuple(sorted(seen, key=lambda each: -counts[each.name])[:KINDS_TOLD])


def _share(
    own: pl.DataFrame, fitted: dict[str, FittedKind], kind: DefectKind, job: Job, runs: float
) -> Share | None:
    """Return the share of an order's pieces; None where no run says it."""
    if own.is_empty():
        return None
    if kind.name in fitted:
        ahead = outlook(fitted[kind.name], job=job.whole(), runs=runs)
    else:
        ahead = _plain(float(own["count"].sum()), float(own["exposure"].sum()))
    return share_of(mean=min(max(ahead.rate, 1e-9), 1 - 1e-9), variance=ahead.variance)


def _plain(count: float, pieces: float) -> Outlook:
    """Too few to model: the whole record's share with Jeffreys' prior, Beta(1/2, 1/2)."""
    a, b = count + 0.5, max(0.0, pieces - count) + 0.5
    return Outlook(a / (a + b), a * b / ((a + b) ** 2 * (a + b + 1)))


def _runs_of(like: pl.DataFrame, pieces: int) -> float:
    """In how many runs such an order is sewn: as many pieces a run as is usual."""
    usual = like.select(pl.coalesce("pieces_sewn", "pieces_inspected").median()).item()
    return max(1.0, pieces / usual) if usual else 1.0


def _minutes(alike: pl.DataFrame, begun: int) -> float | None:
    """Minutes at the machine for so many pieces, at the middle pace of like runs."""
    timed = alike.filter(pl.col("run_minutes") > 0, pl.col("pieces_sewn") > 0)
    if timed.is_empty():
        return None
    pace = (timed["run_minutes"] / timed["pieces_sewn"]).median()
    return float(pace) * begun if isinstance(pace, float) else None


def _minutes_of_rework(totals: pl.DataFrame, shop: Shop) -> float:
    """Minutes that a reworked piece took, by the record; else the shop's usual."""
    timed = totals.filter(pl.col("rework_minutes").is_not_null(), pl.col("pieces_reworked") > 0)
    pieces = float(timed["pieces_reworked"].sum())
    minutes = math.fsum(timed["rework_minutes"].to_list())
    return minutes / pieces if pieces else shop.costs.rework_minutes_per_piece


def _chances(pieces: int, order: int | None, share: Share) -> tuple[tuple[int, float], ...]:
    """Pieces to begin with, and the chance that enough are left: from none spare to twice."""
    last = max(10, 2 * ((order or 2 * pieces) - pieces) + 2)
    step = max(1, math.ceil(last / DRAWN))
    return tuple(
        (pieces + spare, chance_of_enough(wanted=pieces, begun=pieces + spare, share=share))
        for spare in range(0, last + 1, step)
    )
