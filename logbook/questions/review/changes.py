"""What changed in the setup: levels of factors used much more or less, and new stitch files."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any, Literal

import numpy as np
import polars as pl
from scipy.special import stdtrit

from logbook.calendar_weeks import days_of, weeks_before
from logbook.questions.review.data import WEEKS_BEFORE
from logbook.questions.review.judging import FEWEST_WEEKS
from logbook.runs.designs import Design, DesignVersion
from logbook.runs.factors import level_label

LARGE_CHANGE = 0.10
"""Ten points of the week's pieces: smaller changes are not worth a manager's minute."""
LARGE_LEVEL = 0.05
"""A level that comes or goes counts from this share on."""
SMALL_WEEK = 0.2
"""A week with less than this part of the usual pieces has a mix of its own, and that is no news."""
MANY_TIMES = 3.0
"""A smaller rise is large too where the level has so many times its share of before."""
LEVEL = 0.95
"""Of the interval in which one more ordinary week's share is expected."""
OFTEN_NEW = 0.25
"""Where more than this part of the weeks brought a new level anyway (lots, say), one more is
no news."""
MOST_PER_FACTOR = 3
MOST_CHANGES = 10
NEW_FILE = "design_version"
"""The factor of a design that is sewn from another stitch file than before."""

What = Literal["new", "gone", "up", "down"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One level of a setup factor that is used much more, or less, than before.

    Shares are of the pieces sewn; ``pieces`` and ``all_pieces`` are those of the week, the
    others those of the ``weeks_before`` that had runs.
    """

    factor: str
    level: str
    what: What
    share: float
    share_before: float
    pieces: float
    all_pieces: float
    weeks_before: int = 0
    pieces_before: float = 0.0
    all_pieces_before: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class NewFile(Change):
    """A design (its level) of which another version began to be sewn in the week."""

    old: DesignVersion
    new: DesignVersion


@dataclass(frozen=True, slots=True, eq=False)
class _Shares:
    """Pieces by level, this week and in the weeks before that had any, oldest first."""

    levels: tuple[Any, ...]
    now: np.ndarray[Any, np.dtype[np.float64]]
    before: np.ndarray[Any, np.dtype[np.float64]]


def setup_changes(mix: Mapping[str, pl.DataFrame], week: str) -> tuple[Change, ...]:
    """Name the large changes of the setup mix that are not the usual swings.

    Parameters
    ----------
    mix
        Factor → totals by week and that factor.
    week
        The week under review.

    Returns
    -------
    tuple of Change
        The largest first; none where fewer than four weeks before had runs.

    Notes
    -----
    A share has changed where it moved by ten points, or rose by five to three times what it
    was, and in both cases by more than t s sqrt(1 + 1 / m): s is the standard deviation of the
    m weekly shares before, t Student's quantile on m - 1 degrees of freedom, together the 95 %
    prediction interval of one more week. A level of 5 % or more is new where none of the weeks
    before had it, unless new levels are an everyday thing for that factor; it is gone where
    every week before had it and the week has not.
    """
    found: list[Change] = []
    for factor, totals in mix.items():
        shares = _shares(totals, factor, week)
        if shares is not None:
            found += _of_factor(factor, shares)
    found.sort(key=lambda change: (-abs(change.share - change.share_before), change.factor))
    return tuple(found[:MOST_CHANGES])


def _shares(totals: pl.DataFrame, factor: str, week: str) -> _Shares | None:
    sewn = totals.select("week", factor, pl.col("pieces_sewn").fill_null(0).alias("pieces"))
    by_week: dict[str, dict[Any, float]] = {}
    for each_week, level, pieces in sewn.iter_rows():
        levels = by_week.setdefault(each_week, {})
        levels[level] = levels.get(level, 0.0) + float(pieces)
    before = [
        by_week[each] for each in weeks_before(week, WEEKS_BEFORE) if _any_sewn(by_week, each)
    ]
    usual = sum(sum(each.values()) for each in before) / max(1, len(before))
    small = sum(by_week.get(week, {}).values()) < SMALL_WEEK * usual
    if not _any_sewn(by_week, week) or len(before) < FEWEST_WEEKS or small:
        return None
    all_levels = {level for levels in (*before, by_week[week]) for level in levels}
    ordered = tuple(sorted(all_levels, key=lambda level: (level is None, str(level))))
    return _Shares(
        ordered,
        np.array([by_week[week].get(level, 0.0) for level in ordered]),
        np.array([[levels.get(level, 0.0) for level in ordered] for levels in before]),
    )


def _any_sewn(by_week: Mapping[str, Mapping[Any, float]], week: str) -> bool:
    return sum(by_week.get(week, {}).values()) > 0


def _of_factor(factor: str, shares: _Shares) -> list[Change]:
    weekly = shares.before / shares.before.sum(axis=1, keepdims=True)
    m = weekly.shape[0]
    pooled = shares.before.sum(axis=0) / shares.before.sum()
    now = shares.now / shares.now.sum()
    swing = stdtrit(m - 1, (1 + LEVEL) / 2) * weekly.std(axis=0, ddof=1) * np.sqrt(1 + 1 / m)
    often_new = _often_new(weekly)
    found: list[Change] = []
    for index in np.argsort(-np.abs(now - pooled), kind="stable"):
        move = now[index] - pooled[index]
        what: What | None = None
        if pooled[index] == 0:
            what = "new" if now[index] >= LARGE_LEVEL and not often_new else None
        elif now[index] == 0:
            always = bool((weekly[:, index] > 0).all())
            what = "gone" if pooled[index] >= LARGE_LEVEL and always else None
        elif abs(move) > swing[index] and _large(float(now[index]), float(pooled[index])):
            what = "up" if move > 0 else "down"
        if what is not None:
            found.append(_change(factor, shares, int(index), what, float(pooled[index])))
    # Of two levels one goes down as the other goes up: one sentence says both.
    mirrored = len(shares.levels) == 2 and len(found) == 2
    return [each for each in found if not mirrored or each.what in ("up", "new")][:MOST_PER_FACTOR]


def _large(share: float, before: float) -> bool:
    risen = share - before >= LARGE_LEVEL and share >= MANY_TIMES * before
    return abs(share - before) >= LARGE_CHANGE or risen


def _often_new(weekly: np.ndarray[Any, np.dtype[np.float64]]) -> bool:
    """Whether the weeks before, but for the first four, often brought a new level."""
    later = range(FEWEST_WEEKS, weekly.shape[0])
    brought = [
        bool(((weekly[week] >= LARGE_LEVEL) & (weekly[:week].sum(axis=0) == 0)).any())
        for week in later
    ]
    return bool(brought) and float(np.mean(brought)) > OFTEN_NEW


def _change(factor: str, shares: _Shares, index: int, what: What, share_before: float) -> Change:
    pieces, all_pieces = float(shares.now[index]), float(shares.now.sum())
    return Change(
        factor=factor,
        level=level_label(factor, shares.levels[index]),
        what=what,
        share=pieces / all_pieces,
        share_before=share_before,
        pieces=pieces,
        all_pieces=all_pieces,
        weeks_before=shares.before.shape[0],
        pieces_before=float(shares.before[:, index].sum()),
        all_pieces_before=float(shares.before.sum()),
    )


def new_files(designs: Sequence[Design], week_runs: pl.DataFrame, week: str) -> tuple[NewFile, ...]:
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
    tuple of NewFile
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
    found = [
        _new_file(design.name, old, new, pieces.get((design.name, new.digest), 0.0), every)
        for design in designs
        for old, new in zip(design.versions, design.versions[1:], strict=False)
        if begins <= new.since < ends
    ]
    return tuple(sorted(found, key=lambda change: -change.pieces))


def _new_file(
    design: str, old: DesignVersion, new: DesignVersion, pieces: float, every: float
) -> NewFile:
    return NewFile(
        factor=NEW_FILE,
        level=design,
        what="new",
        share=pieces / every if every else 0.0,
        share_before=0.0,
        pieces=pieces,
        all_pieces=every,
        old=old,
        new=new,
    )
