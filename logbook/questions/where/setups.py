"""How a site, machine or person sets jobs up otherwise than the rest on like fabrics."""

from __future__ import annotations

import numpy as np

from logbook.expectation.coding import SETUP_COLUMNS, coded
from logbook.kernels.arguments import FloatArray
from logbook.kernels.setup_model.setups import IntArray
from logbook.questions.where.grouping import Grouped
from logbook.questions.where.record import WhereRecord
from logbook.questions.where.result import SetupUse

ASKED_BY = frozenset({"site", "machine", "operator", "shift"})
"""By whom or where a recipe is kept to, or not."""
_LEFT_OUT = frozenset({"backing_supplier", "thread"})
"""What is bought, not set up."""
FEWEST_RUNS = 20
"""Of a level on fabrics that others sew too."""
LEAST_APART = 0.1
"""Shares that differ by less are not worth a line."""
MOST_SAID = 8
ON = "fabric"


def setups_of(record: WhereRecord, groups: Grouped) -> tuple[SetupUse, ...]:
    """Which values of the setup each level uses more, or less, than the others on like fabrics.

    Parameters
    ----------
    record
        The runs.
    groups
        Runs by one column.

    Returns
    -------
    tuple of SetupUse
        For each level and column of the setup the value that differs most, if by ``LEAST_APART``
        of the runs and more than luck makes it; the widest apart first.
    """
    if len(groups.columns) != 1 or groups.columns[0] not in ASKED_BY or len(groups.levels) < 2:
        return ()
    runs = record.coded.runs.filter(record.inside)
    fabric = coded(runs[ON])
    found = []
    for column in sorted(SETUP_COLUMNS - _LEFT_OUT):
        values = runs[column]
        if values.n_unique() < 2:
            continue
        there = values.is_not_null().to_numpy()
        _, first, codes = np.unique(coded(values), return_index=True, return_inverse=True)
        used = _used(groups.codes[there], fabric[there], codes[there], len(groups.levels))
        for at, level in enumerate(groups.levels):
            own, others, sewn = used[0][at], used[1][at], used[2][at]
            apart = np.abs(own - others)
            widest = int(np.argmax(apart))
            doubt = 3.0 * np.sqrt(others[widest] * (1 - others[widest]) / max(sewn, 1.0))
            if sewn >= FEWEST_RUNS and apart[widest] >= max(LEAST_APART, doubt):
                share, rest = float(own[widest]), float(others[widest])
                value = values[int(first[widest])]
                found.append(SetupUse(level, column, value, share, rest, int(sewn)))
    found.sort(key=lambda each: -abs(each.share - each.share_of_others))
    return tuple(found[:MOST_SAID])


def _used(
    levels: IntArray, fabric: IntArray, values: IntArray, many: int
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Of each level the shares of the values, those of the others on its mix of fabrics, runs."""
    cloths, kinds = int(fabric.max(initial=0)) + 1, int(values.max(initial=0)) + 1
    counts = np.zeros((many, cloths, kinds))
    np.add.at(counts, (levels, fabric, values), 1.0)
    others = counts.sum(axis=0) - counts
    own_runs, their_runs = counts.sum(axis=2), others.sum(axis=2)
    shared = np.where(their_runs > 0, own_runs, 0.0)
    runs = shared.sum(axis=1)
    weights = shared / np.maximum(runs, 1.0)[:, None]
    own = np.einsum("lf,lfv->lv", weights, counts / np.maximum(own_runs, 1.0)[:, :, None])
    rest = np.einsum("lf,lfv->lv", weights, others / np.maximum(their_runs, 1.0)[:, :, None])
    return own, rest, runs
