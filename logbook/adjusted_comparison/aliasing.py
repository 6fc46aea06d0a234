"""Aliased factors: they never vary apart, so that what one does cannot be told from the other."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from logbook.adjusted_comparison.rows import CodedRows
from logbook.adjusted_comparison.terms import LOT, MAIN_EFFECTS
from logbook.kernels.arguments import FloatArray
from logbook.kernels.setup_model.levels import FEWEST_RUNS

LEAST_SHARE = 0.95
_WITHIN = ("design", LOT)
"""What a level may be made of entirely: a supplier of one lot, a thread for one design."""
_BY_DEFINITION = {("backing", "backing_layers", "none", "0")}


@dataclass(frozen=True, slots=True)
class Aliased:
    """Two factors, or one level of each, that go together.

    Attributes
    ----------
    factor, other
        The factors.
    level, other_level
        The levels that go together; None where it is the factors as wholes.
    both_ways
        For factors as wholes: whether each of the two determines the other, and not only
        ``factor`` determines ``other``.
    share
        How far: 1 where always.
    runs
        Runs that record both.
    """

    factor: str
    other: str
    level: str | None
    other_level: str | None
    both_ways: bool
    share: float
    runs: int


def aliased(rows: CodedRows) -> tuple[Aliased, ...]:
    """List what always, or nearly always, goes together.

    Factors as wholes by Goodman & Kruskal's lambda (1954, J Am Stat Assoc 49:732-764): by how
    much knowing one lessens the mistakes in guessing the other. Of other pairs, levels by the
    runs that have both among those that have either. ``LEAST_SHARE`` is the least of each.
    """
    names = [name for name in MAIN_EFFECTS if _recorded(rows, name).sum() > 1]
    within = [name for name in _WITHIN if _recorded(rows, name).sum() > 1]
    found: list[Aliased] = []
    for one, other in combinations(names, 2):
        table = _table(rows, one, other)
        whole = _as_wholes(one, other, table)
        found += [whole] if whole else _levels(rows, one, other, table)
    for one in names:
        for other in within:
            found += _levels(rows, one, other, _table(rows, one, other))
    return tuple(found)


def _recorded(rows: CodedRows, factor: str) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Which codes of a factor are levels that somebody wrote down."""
    if factor == LOT:
        return np.array(rows.lot_recorded, dtype=bool)
    return np.array([word is not None for word in rows.levels[factor]], dtype=bool)


def _table(rows: CodedRows, one: str, other: str) -> FloatArray:
    """Runs by levels of the two, rows not recording both left out; all codes keep their place."""
    across = len(rows.levels[other])
    codes = rows.setups.factors[one], rows.setups.factors[other]
    there = (codes[0] >= 0) & (codes[1] >= 0)
    counted = np.bincount(
        codes[0][there] * across + codes[1][there],
        weights=rows.setups.runs[there],
        minlength=len(rows.levels[one]) * across,
    ).reshape(-1, across)
    kept = np.outer(_recorded(rows, one), _recorded(rows, other))
    return np.where(kept, counted, 0.0)


def _as_wholes(one: str, other: str, table: FloatArray) -> Aliased | None:
    determined = _lambda(table), _lambda(table.T)
    if max(determined) < LEAST_SHARE:
        return None
    first, second = (one, other) if determined[0] >= determined[1] else (other, one)
    return Aliased(
        factor=first,
        other=second,
        level=None,
        other_level=None,
        both_ways=min(determined) >= LEAST_SHARE,
        share=max(determined),
        runs=round(table.sum()),
    )


def _lambda(table: FloatArray) -> float:
    """Lambda for guessing the column by the row; 0 where either has a single level."""
    total, usual = table.sum(), table.sum(axis=0).max(initial=0.0)
    if total <= usual or np.count_nonzero(table.sum(axis=1)) < 2:
        return 0.0
    return float((table.max(axis=1).sum() - usual) / (total - usual))


def _levels(rows: CodedRows, one: str, other: str, table: FloatArray) -> Iterator[Aliased]:
    either = table.sum(axis=1)[:, None] + table.sum(axis=0)[None, :] - table
    share = table / np.where(either > 0, either, 1.0)
    # Where all runs are of one level there is nothing to tell apart.
    told = (table >= FEWEST_RUNS) & (either < table.sum())
    for row, column in np.argwhere(told & (share >= LEAST_SHARE)):
        words = rows.levels[one][row], rows.levels[other][column]
        if (one, other, *words) in _BY_DEFINITION:
            continue
        yield Aliased(
            factor=one,
            other=other,
            level=words[0],
            other_level=words[1] if other != LOT else str(words[1]).rsplit("\u0001", 1)[-1],
            both_ways=True,
            share=float(share[row, column]),
            runs=round(either[row, column]),
        )
