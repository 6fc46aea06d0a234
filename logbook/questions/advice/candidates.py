"""Changes of a setup that the record could speak of: those that like jobs were sewn with."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import polars as pl

from logbook.questions.advice.job import BACKING_PARTS, SETUP, Job

ALONE = tuple(name for name in SETUP if name not in ("backing", *BACKING_PARTS))
KEPT_RUNS = 5
"""A part of the backing is kept in another backing that has so many like runs with it."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One change, or two: factor → new word.

    ``parts`` are the single changes that it is made of. A change of backing is one change, with
    the weight, layers, supplier and shade in which that backing is used.
    """

    changes: Mapping[str, str | None]
    parts: int = 1


def single_changes(like: pl.DataFrame, job: Job) -> tuple[Candidate, ...]:
    """List single changes that occur on like jobs.

    Parameters
    ----------
    like
        Cells of any defect in words, on the job's fabric.
    job
        Job and setup now; of a part that is not recorded no change is proposed.
    """
    now = job.setup
    found: list[Candidate] = []
    if now.get("backing") is not None:
        found += [_other_backing(like, now, word) for word in _levels(like, "backing", now)]
        same = like.filter(pl.col("backing") == now["backing"])
        for name in BACKING_PARTS:
            if now.get(name) is not None:
                found += [Candidate({name: word}) for word in _levels(same, name, now)]
    for name in ALONE:
        if now.get(name) is not None:
            found += [Candidate({name: word}) for word in _levels(like, name, now)]
    return tuple(found)


def double_changes(singles: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """Put single changes together two by two, where they do not touch the same part."""
    return tuple(
        Candidate({**one.changes, **other.changes}, parts=2)
        for one, other in combinations(singles, 2)
        if not set(one.changes) & set(other.changes) and not _both_backing(one, other)
    )


def _both_backing(one: Candidate, other: Candidate) -> bool:
    """Whether a change of backing meets one of a part that came with the backing now."""
    parts = set(BACKING_PARTS)
    return ("backing" in one.changes and bool(parts & set(other.changes))) or (
        "backing" in other.changes and bool(parts & set(one.changes))
    )


def _levels(cells: pl.DataFrame, name: str, now: Mapping[str, str | None]) -> list[str]:
    words = cells[name].drop_nulls().unique().sort().to_list()
    return [str(word) for word in words if word != now[name]]


def _other_backing(like: pl.DataFrame, now: Mapping[str, str | None], word: str) -> Candidate:
    """Change the backing, keeping of its parts what the other backing is used with too."""
    cells = like.filter(pl.col("backing") == word)
    changes: dict[str, str | None] = {"backing": word}
    for name in BACKING_PARTS:
        kept = cells.filter(pl.col(name).eq_missing(pl.lit(now.get(name), pl.String)))
        if int(kept["runs"].sum()) >= KEPT_RUNS:
            cells = kept
            continue
        summed = cells.group_by(name).agg(pl.col("exposure").sum())
        usual = summed.sort("exposure", name, descending=[True, False], nulls_last=True)[name][0]
        cells = cells.filter(pl.col(name).eq_missing(pl.lit(usual, pl.String)))
        changes[name] = usual
    return Candidate(changes)
