"""What is looked at: the levels of every column, and how likely a cause each is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import polars as pl
from scipy.special import xlogy

from logbook.expectation import LOT
from logbook.expectation.coding import coded, crossed
from logbook.kernels.arguments import BoolArray
from logbook.kernels.setup_model.setups import IntArray
from logbook.runs.factors import COMPARED, FACTORS

_LEFT_OUT = frozenset(
    {
        *("job", "design_version", "fabric_sheer", "head_count", "needle_changed"),
        *("trial", "trial_arm"),
    }
)
"""Single orders, and what another column says better."""
_FOUND_OUT = frozenset({"outcome", "safety", "judging"})
"""Roles of columns that say what came of a run, not how it was sewn."""
COLUMNS: tuple[str, ...] = tuple(
    each.column
    for each in FACTORS
    if each.column not in _LEFT_OUT
    and each.role not in _FOUND_OUT
    and not (each.of.bands and each.column == each.of.name)
)
PAIRS: tuple[tuple[str, str], ...] = (("backing_supplier", "backing"),)
_SHARES: Mapping[str, float] = {
    "backing_lot": 0.28,
    "machine": 0.2,
    "fabric": 0.14,
    "backing_supplier x backing": 0.08,
    "operator": 0.08,
    "design": 0.06,
    "changed": 0.06,
    "": 0.04,
}
"""Of the search: lots and machines are likelier causes than designs. The rest share the rest."""
_MOST_LEVELS = 200
_SETUP = tuple(
    each.column for each in COMPARED if each.role == "setup" and each.column != "backing_supplier"
)
WEEKS_BACK = 26
"""A departure may be found to have begun so long ago."""
_RISEN, _RISEN_BY, _FEWEST_USED = 2.0, 0.05, 5
"""A choice has come in if its share of the runs is so many times what it was, and so much more."""
_MOST_OF_ALL = 0.6
"""A level with a greater share of the runs is the whole shop under another name."""


@dataclass(frozen=True, slots=True, eq=False)
class Level:
    """One level.

    Attributes
    ----------
    values
        Column → value; none for the whole shop.
    rows
        Places of its runs.
    weight
        Its share of the search.
    by_job
        Whether it is held against what such jobs showed, whatever their setup: a choice of setup
        that has come in.
    weeks
        Of a choice that has come in: how many weeks ago; 0 for all else.
    """

    values: Mapping[str, str | int | float | bool]
    rows: IntArray
    weight: float
    by_job: bool = False
    weeks: int = 0

    def holds(self, runs: pl.DataFrame) -> BoolArray:
        """Which runs of a frame are of this level."""
        own = np.ones(runs.height, dtype=bool)
        for name, value in self.values.items():
            own &= (runs[name] == value).fill_null(False).to_numpy()
        return own


def levels_of(runs: pl.DataFrame, *, weeks_ago: IntArray, recent: IntArray) -> tuple[Level, ...]:
    """List the levels that recent runs have.

    Parameters
    ----------
    runs
        All runs, with :data:`COLUMNS`.
    weeks_ago
        (m,) whole weeks before now.
    recent
        Places of the recent runs. A choice of setup that has come in is looked at twice: against
        its own past, and against what such jobs showed before it came in.
    """
    every, runs = runs, runs[recent]
    everywhere = [Level({}, np.arange(runs.height), _SHARES[""])]
    codes = {name: coded(runs[name]) for name in COLUMNS}
    rest = 1 - sum(_SHARES.values())
    plain = len([name for name in COLUMNS if name not in _SHARES])
    found = [
        level
        for name in COLUMNS
        for level in _levels(
            runs,
            _columns_of(name, runs),
            codes[name] if name != "backing_lot" else _lots(codes),
            _SHARES.get(name, rest / max(plain, 1)),
        )
    ]
    for pair in PAIRS:
        code = crossed(*(codes[name] for name in pair))
        found += _levels(runs, pair, code, _SHARES[" x ".join(pair)])
    looked_at = everywhere + found + _come_in(found, every, weeks_ago, recent)
    # Columns that a shop does not use have no share.
    whole = sum(each.weight for each in looked_at)
    return tuple(replace(each, weight=each.weight / whole) for each in looked_at)


def _come_in(
    levels: Sequence[Level], runs: pl.DataFrame, weeks_ago: IntArray, recent: IntArray
) -> list[Level]:
    risen = []
    for each in levels:
        if len(each.values) == 1 and next(iter(each.values)) in _SETUP:
            weeks = came_in(weeks_ago, each.holds(runs))
            if weeks:
                rows = each.rows[weeks_ago[recent][each.rows] < weeks]
                risen.append(Level(each.values, rows, 1.0, by_job=True, weeks=weeks))
    return [replace(each, weight=_SHARES["changed"] / len(risen)) for each in risen]


def came_in(weeks_ago: IntArray, used: BoolArray) -> int:
    """Say how many weeks ago a choice came in; 0 where its share of the runs has not risen.

    Of all beginnings in the last half year that make its share twice what it was, the one that
    tells the runs since from those before best (the binomial likelihood of two shares).

    Parameters
    ----------
    weeks_ago
        (m,) whole weeks before now of each run.
    used
        (m,) whether it was sewn so.
    """
    of = np.bincount(weeks_ago).cumsum()
    its = np.bincount(weeks_ago[used], minlength=of.size).cumsum()
    earlier, of_earlier = its[-1] - its, of[-1] - of
    share, was = its / np.fmax(of, 1), earlier / np.fmax(of_earlier, 1)
    told = xlogy(its, share) + xlogy(of - its, 1 - share)
    told += xlogy(earlier, was) + xlogy(of_earlier - earlier, 1 - was)
    risen = (share > _RISEN * was) & (share > was + _RISEN_BY) & (its >= _FEWEST_USED)
    risen &= (of_earlier > 0) & (np.arange(of.size) < WEEKS_BACK)
    return int(np.where(risen, told, -np.inf).argmax()) + 1 if risen.any() else 0


def _lots(codes: Mapping[str, IntArray]) -> IntArray:
    return crossed(*(codes[name] for name in ("backing_supplier", "backing", "backing_lot")))


def _columns_of(name: str, runs: pl.DataFrame) -> tuple[str, ...]:
    """The columns that name a level; two suppliers may use one number for their lots."""
    if name != "backing_lot":
        return (name,)
    named = runs.drop_nulls(name).group_by(name).agg(pl.col("backing_supplier").n_unique())
    shared = (named["backing_supplier"] > 1).any()
    return ("backing_supplier", name) if shared else (name,)


def _levels(
    runs: pl.DataFrame, columns: tuple[str, ...], codes: IntArray, share: float
) -> list[Level]:
    order = np.argsort(codes, kind="stable")
    starts = np.flatnonzero(np.diff(codes[order], prepend=-1))
    found: list[tuple[dict[str, str | int | float | bool], IntArray]] = []
    for rows in np.split(order, starts[1:]):
        values = {name: runs[name][int(rows[0])] for name in columns} if rows.size else {}
        recorded = values and all(value is not None for value in values.values())
        if recorded and rows.size <= _MOST_OF_ALL * runs.height:
            found.append((values, rows))
    found.sort(key=lambda each: -each[1].size)
    found = found[:_MOST_LEVELS]
    return [Level(values, rows, share / len(found)) for values, rows in found]


__all__ = ["COLUMNS", "LOT", "Level", "levels_of"]
