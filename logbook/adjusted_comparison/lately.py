"""Suppliers whose backing has changed in the last weeks, beyond what the whole shop has."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from scipy.special import stdtr

from logbook.adjusted_comparison.rows import CodedRows
from logbook.adjusted_comparison.terms import EFFECT_SD, SUPPLIER
from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.setup_model import NO_LEVEL, SetupFit, Term
from logbook.kernels.setup_model.added import AddedEffect, added_effect
from logbook.kernels.setup_model.setups import IntArray

LATELY = "lately"
LATELY_TERM = Term(LATELY, (LATELY,), sd=EFFECT_SD)

WEEKS = (4, 8, 12)
"""Lengths of the last weeks that are looked at."""
FALSE_WARNINGS = 0.02
"""Chance of a false warning, of all suppliers together."""
FINEST_WEEKS = range(3, 17)
"""Lengths among which the likeliest is taken once a supplier is known to have changed."""
FEWEST_RUNS_OF_EACH = 5
"""Runs of a supplier that there must be in the last weeks, and before them."""
_EPOCH = date(1970, 1, 1)


@dataclass(frozen=True, slots=True)
class LateChange:
    """A supplier that has changed.

    Attributes
    ----------
    supplier
        Who.
    since
        First day of the last weeks.
    weeks
        How many they are.
    runs
        Runs on its backing in them.
    ratio
        Odds of the defect (rate of events) in them, over those before.
    """

    supplier: str
    since: date
    weeks: int
    runs: int
    ratio: float

    @property
    def worse(self) -> bool:
        """Whether for the worse."""
        return self.ratio > 1


def late_changes(
    rows: CodedRows, fitted: SetupFit, suppliers: Sequence[str]
) -> tuple[LateChange, ...]:
    """Say which suppliers have changed in the last weeks of the record.

    Each is set against its own earlier runs, less what all runs of those weeks have in common;
    lots, designs and all else are allowed for. The clearest change is taken out before the next
    is looked for. Limits are shared out over suppliers and lengths, so that in a record without
    any change a warning comes in at most ``FALSE_WARNINGS``.
    """
    if not np.isfinite(rows.day).any():
        return ()
    tried = list(_tried(rows, suppliers))
    found: dict[str, tuple[LateChange, FloatArray]] = {}
    limit = FALSE_WARNINGS / max(len(tried), 1)
    while True:
        known = [column for _, column in found.values()]
        judged = [
            (_p_value(effect), change)
            for change, window, column in tried
            if change.supplier not in found
            and (effect := added_effect(fit=fitted, columns=[window, *known, column])) is not None
        ]
        if not judged:
            break
        p_value, change = min(judged, key=lambda each: each[0])
        if p_value >= limit:
            break
        found[change.supplier] = _dated(rows, fitted, change.supplier, known)
    return tuple(change for change, _ in found.values())


def _dated(
    rows: CodedRows, fitted: SetupFit, supplier: str, known: Sequence[FloatArray]
) -> tuple[LateChange, FloatArray]:
    """A change with its likeliest beginning, and the rows since as a column."""
    judged = [
        (abs(effect.estimate) / effect.error, effect, change, column)
        for change, window, column in _tried(rows, [supplier], FINEST_WEEKS)
        if (effect := added_effect(fit=fitted, columns=[window, *known, column])) is not None
    ]
    _, effect, change, column = max(judged, key=lambda each: each[0])
    return replace(change, ratio=math.exp(effect.estimate)), column


def with_late_changes(rows: CodedRows, changes: Sequence[LateChange]) -> CodedRows:
    """The same rows with a factor ``lately``: the changed supplier, in its last weeks."""
    codes: IntArray = np.full(rows.day.size, NO_LEVEL, dtype=np.intp)
    for code, change in enumerate(changes):
        codes[_own(rows, change.supplier) & _since(rows, change.since)] = code
    setups = replace(rows.setups, factors={**rows.setups.factors, LATELY: codes})
    return replace(
        rows,
        setups=setups,
        levels={**rows.levels, LATELY: tuple(change.supplier for change in changes)},
    )


def _tried(
    rows: CodedRows, suppliers: Sequence[str], lengths: Iterable[int] = WEEKS
) -> Iterator[tuple[LateChange, FloatArray, FloatArray]]:
    """Each supplier and length with enough runs, as columns: all runs of then, and its own."""
    last = int(np.nanmax(rows.day))
    runs = rows.setups.runs
    for weeks in lengths:
        since = _EPOCH + timedelta(days=last - 7 * weeks + 1)
        window = _since(rows, since)
        for supplier in suppliers:
            own = _own(rows, supplier)
            late, early = float(runs[own & window].sum()), float(runs[own & ~window].sum())
            if min(late, early) >= FEWEST_RUNS_OF_EACH:
                yield (
                    LateChange(supplier, since, weeks, int(late), math.nan),
                    window.astype(float),
                    (own & window).astype(float),
                )


def _own(rows: CodedRows, supplier: str) -> BoolArray:
    return np.asarray(rows.setups.factors[SUPPLIER] == rows.code(SUPPLIER, supplier))


def _since(rows: CodedRows, day: date) -> BoolArray:
    return np.asarray(rows.day >= (day - _EPOCH).days)


def _p_value(effect: AddedEffect) -> float:
    return float(2.0 * stdtr(effect.degrees, -abs(effect.estimate) / effect.error))
