"""What becomes of runs that are put: one rule for one run and for a million."""

from __future__ import annotations

from collections.abc import Sequence

import duckdb
import polars as pl

from logbook.runs.content import content_digests
from logbook.store.interface import Stored
from logbook.store.opening import read_frame

FEW = 2_000
"""So many references are looked up in the index one by one; a join reads the whole column."""
_KEYS = ["run_ref", "content_mark"]


def outcomes_of(
    cursor: duckdb.DuckDBPyConnection,
    runs: pl.DataFrame,
    digests: pl.Series,
    *,
    amend: bool = False,
    sent: pl.DataFrame | None = None,
) -> pl.Series:
    """Say of each run what becomes of it, within the transaction that stores them.

    Parameters
    ----------
    runs, digests
        The runs put, and their content digests.
    amend
        Whether a run with other content takes the place of the one in the book.
    sent
        The runs as they were sent, where ``runs`` has something filled in: one that the book has as
        it was sent is known.

    Returns
    -------
    pl.Series
        ``new``, ``change``, ``skip`` or ``conflict`` a run.
    """
    requested = runs.select("run_ref", digests.alias("content_mark"))
    present, past = _in_the_book(cursor, requested["run_ref"])
    outcomes = decide(requested, present, past, amend=amend)
    if sent is None or not (disputed := outcomes == "conflict").any():
        return outcomes
    rows = sent.filter(disputed)
    as_sent = rows.select("run_ref", content_digests(rows).alias("content_mark"))
    # With amend a run that stands is changed; what was withdrawn stays so all the same.
    known = past if amend else pl.concat([present, past])
    found = _is_among(as_sent, known)
    return outcomes.scatter(disputed.arg_true().filter(found), "skip") if found.any() else outcomes


def decide(
    requested: pl.DataFrame, present: pl.DataFrame, past: pl.DataFrame, *, amend: bool
) -> pl.Series:
    """Say what becomes of each row; all frames hold ``run_ref`` and ``content_mark``.

    Parameters
    ----------
    requested
        The rows put. Of rows with one reference the first counts: the others are skipped if they
        say the same, or what the book says already.
    present
        The runs in the book that have these references.
    past
        Their earlier versions; a withdrawn run has these alone. What one of them said is not news.
    amend
        Whether a run with other content takes the place of the one in the book.
    """
    if present.is_empty() and past.is_empty() and requested["run_ref"].is_unique().all():
        return pl.repeat("new", requested.height, eager=True).alias("outcome")
    stands = present.rename({"content_mark": "stands"})
    known = requested.join(stands, on="run_ref", how="left", maintain_order="left").with_columns(
        said_before=_is_among(requested, past),
        has_past=requested["run_ref"].is_in(past["run_ref"].implode()),
    )
    digest, there = pl.col("content_mark"), pl.col("stands").is_not_null()
    same = (digest == pl.col("stands")).fill_null(value=False)
    repeats = (digest == digest.first().over("run_ref")) | (same & pl.lit(not amend))
    replaced = there & pl.lit(amend)
    return known.select(
        outcome=pl.when(~pl.col("run_ref").is_first_distinct())
        .then(pl.when(repeats).then(pl.lit("skip")).otherwise(pl.lit("conflict")))
        .when(same)
        .then(pl.lit("skip"))
        .when(replaced)
        .then(pl.lit("change"))
        .when("said_before")
        .then(pl.lit("skip"))
        .when(there | pl.col("has_past"))
        .then(pl.lit("conflict"))
        .otherwise(pl.lit("new"))
    )["outcome"]


def counted(outcomes: Sequence[str]) -> Stored:
    """How many runs had which outcome, and the places of the conflicts."""
    conflicts = tuple(place for place, outcome in enumerate(outcomes) if outcome == "conflict")
    return Stored(
        outcomes.count("new"), outcomes.count("skip"), outcomes.count("change"), conflicts
    )


def _is_among(requested: pl.DataFrame, known: pl.DataFrame) -> pl.Series:
    """Whether each row of one frame is a row of the other."""
    flagged = known.unique(_KEYS).with_columns(found=True)
    found = requested.join(flagged, on=_KEYS, how="left", maintain_order="left")["found"]
    return found.fill_null(value=False)


def _in_the_book(
    cursor: duckdb.DuckDBPyConnection, refs: pl.Series
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Content digests of runs in the book, and those of their earlier versions."""
    few = refs.len() <= FEW
    among = f"IN ({', '.join('?' for _ in refs) or 'NULL'})" if few else "IN (FROM requested)"
    if not few:
        cursor.register("requested", refs.to_frame().to_arrow())
    present, past = (
        read_frame(
            cursor,
            f"SELECT run_ref, content_mark FROM {table} WHERE run_ref {among}",
            refs.to_list() if few else [],
        )
        for table in ("runs", "run_history")
    )
    if not few:
        cursor.unregister("requested")
    return present, past
