"""Which runs of the week to look at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import polars as pl

from logbook.kernels.rate_intervals import interval
from logbook.questions.review.held import setup_of
from logbook.questions.review.judging import Judged
from logbook.vocabulary.defects import DefectKind
from logbook.wording import number, rate_words

MOST_RUNS = 8
MOST_OF_ONE_KIND = 3
"""So that a kind that varies from run to run by nature does not fill the list."""
FEWEST_COUNTED = 3
"""Fewer defects than that in one run are not worth a walk to the rack."""
STANDS_OUT = 3.0
"""Signed root of the deviance from which a run stands out: about three standard errors."""


@dataclass(frozen=True, slots=True)
class Excess:
    """One kind of defect that one run shows more of than usual."""

    kind: DefectKind
    count: int
    exposure: float
    expected: float
    score: float


@dataclass(frozen=True, slots=True)
class RunToLookAt:
    """One run, what it was sewn with, and why to look at it."""

    run_ref: str
    finished_at: datetime
    setup: dict[str, str | None]
    excesses: tuple[Excess, ...]
    why: str


def runs_to_look_at(runs: pl.DataFrame, judged: Sequence[Judged]) -> tuple[RunToLookAt, ...]:
    """Pick the runs that contribute most beyond what is usual.

    Parameters
    ----------
    runs
        The run frame of the week.
    judged
        The kinds, with their rates of the week and before, which pooled say what is usual
        whatever the setup.

    Returns
    -------
    tuple of RunToLookAt
        At most eight, and three for the same leading kind, the most striking first.

    Notes
    -----
    A run's count c against the expected e is scored by the signed root of the Poisson
    deviance, sqrt(2 (c log(c / e) - (c - e))), McCullagh & Nelder (1989), Generalized Linear
    Models, 2nd ed., sec. 2.4: unlike (c - e) / sqrt(e) it does not run away where little is
    expected.
    """
    scored = [excesses for each in judged if (excesses := _excesses(runs, each)) is not None]
    if not scored:
        return ()
    table = pl.concat(scored)
    best = (
        table.sort("score", "run_ref", "kind", descending=[True, False, False])
        .unique("run_ref", keep="first", maintain_order=True)
        .filter(pl.col("run_ref").cum_count().over("kind") <= MOST_OF_ONE_KIND)
        .head(MOST_RUNS)
    )
    kinds = {each.kind.name: each.kind for each in judged}
    rows = {row["run_ref"]: row for row in runs.iter_rows(named=True)}
    return tuple(
        _looked_at(rows[run_ref], table.filter(pl.col("run_ref") == run_ref), kinds)
        for run_ref in best["run_ref"]
    )


def _excesses(runs: pl.DataFrame, judged: Judged) -> pl.DataFrame | None:
    at_risk = judged.exposure + judged.exposure_before
    if judged.kind.name not in runs.columns or not at_risk > 0:
        return None
    usual = (judged.count + judged.count_before) / at_risk
    exposure = (
        pl.coalesce("pieces_inspected", "pieces_sewn")
        if judged.kind.measure == "pieces"
        else pl.coalesce("stitches_sewn", pl.col("stitches_per_piece") * pl.col("pieces_sewn"))
    )
    count, expected = pl.col("count"), pl.col("expected")
    return (
        runs.select(
            "run_ref",
            pl.lit(judged.kind.name).alias("kind"),
            pl.col(judged.kind.name).cast(pl.Int64).alias("count"),
            exposure.cast(pl.Float64).alias("exposure"),
        )
        .with_columns((pl.col("exposure") * usual).alias("expected"))
        .filter((count >= FEWEST_COUNTED) & (count > expected) & (pl.col("exposure") > 0))
        .with_columns(
            (2 * (count * (count / expected).log() - (count - expected))).sqrt().alias("score")
        )
        .filter(pl.col("score") >= STANDS_OUT)
    )


def _looked_at(
    row: dict[str, Any], found: pl.DataFrame, kinds: dict[str, DefectKind]
) -> RunToLookAt:
    excesses = tuple(
        Excess(
            kinds[each["kind"]], each["count"], each["exposure"], each["expected"], each["score"]
        )
        for each in found.sort("score", "kind", descending=[True, False]).iter_rows(named=True)
    )
    why = "; ".join(_why(each) for each in excesses)
    return RunToLookAt(row["run_ref"], row["finished_at"], setup_of(row), excesses, f"{why}.")


def _why(excess: Excess) -> str:
    doubt = interval(count=excess.count, exposure=excess.exposure, measure=excess.kind.measure)
    rate = rate_words(
        excess.kind.measure,
        excess.count,
        excess.exposure,
        float(doubt.estimate),
        (float(doubt.lower), float(doubt.upper)),
    )
    usual = "fewer than 0.1" if excess.expected < 0.1 else f"about {number(excess.expected)}"
    return f"{excess.kind.label}: {rate}; {usual} of them would be usual"
