"""Sums of what levels showed, were to be expected to show, and cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import nnls

from logbook.expectation import doubt_of_levels, doubt_of_terms, expected_without
from logbook.kernels.arguments import FloatArray
from logbook.questions.where.grouping import Grouped
from logbook.questions.where.record import KindShown, WhereRecord


@dataclass(frozen=True, slots=True, eq=False)
class Sums:
    """One value a level.

    Attributes
    ----------
    runs, pieces, exposure
        Runs that recorded it, pieces inspected, and what it is counted over.
    observed, expected
        Pieces or events, or money.
    luck
        Variance on top of counting, relative to the square of what was expected.
    money, money_expected
        As paid, and what the pieces expected would have cost; NaN where it is not known.
    unit
        What counts as one: 1, or where money is held against money, the variance of it over its
        mean.
    spread
        Standard deviation of the levels' ratios as the fit has it; None where it has none.
    """

    runs: FloatArray
    pieces: FloatArray
    exposure: FloatArray
    observed: FloatArray
    expected: FloatArray
    luck: FloatArray
    money: FloatArray
    money_expected: FloatArray
    unit: float
    spread: float | None


def sums_of(record: WhereRecord, groups: Grouped, terms: Sequence[str]) -> Sums:
    """Add up every level; ``terms`` are no excuse of theirs."""
    if record.of_money:
        return _of_money(record, groups, terms)
    [shown] = record.kinds
    inside = record.inside
    expected = expected_without(record.coded, shown.found, terms)
    own, count, exposure = (
        each[inside] for each in (expected, shown.found.observed, shown.found.exposure)
    )
    total = groups.added(own)
    per_run = np.expm1(shown.found.run_sd**2)
    luck = _over(per_run * groups.added(own**2), total**2)
    known = ~np.isnan(shown.cost_of_one)
    paid = groups.added(shown.paid[inside])
    some = groups.added(shown.paid_known[inside] & (exposure > 0)) > 0
    return Sums(
        runs=groups.added(exposure > 0),
        pieces=groups.added(_pieces(record)[inside] * (exposure > 0)),
        exposure=groups.added(exposure),
        observed=groups.added(count),
        expected=total,
        luck=luck + _doubt(record, groups, shown, own, terms),
        money=np.where(some & known, paid, np.nan),
        money_expected=np.asarray(total * shown.cost_of_one),
        unit=1.0,
        spread=_spread(record, shown, groups, terms),
    )


def _of_money(record: WhereRecord, groups: Grouped, terms: Sequence[str]) -> Sums:
    """All kinds, each by what one of it comes to; kinds whose cost is not known are left out."""
    inside = record.inside
    paid, expected = np.zeros(inside.sum()), np.zeros(inside.sum())
    exposed = np.zeros(inside.sum(), dtype=bool)
    doubted = np.zeros(len(groups.levels))
    for shown in record.kinds:
        exposed |= shown.found.exposure[inside] > 0
        if np.isnan(shown.cost_of_one):
            continue
        own = expected_without(record.coded, shown.found, terms)[inside]
        worth = own * shown.cost_of_one
        part = groups.added(worth)
        doubted += _doubt(record, groups, shown, own, terms) * part**2
        paid += shown.paid[inside]
        expected += worth
    total = groups.added(expected)
    unit, per_run = _variance(paid, expected)
    luck = per_run * groups.added(expected**2) + doubted
    money = groups.added(paid)
    pieces = groups.added(_pieces(record)[inside] * exposed)
    return Sums(
        runs=groups.added(exposed),
        pieces=pieces,
        exposure=pieces,
        observed=money,
        expected=total,
        luck=_over(luck, total**2),
        money=money,
        money_expected=total,
        unit=unit,
        spread=None,
    )


def _variance(paid: FloatArray, expected: FloatArray) -> tuple[float, float]:
    """How money of runs varies: what multiplies its mean, and what its square.

    Non-negative least squares of squared departures; runs that cost more are weighed less.
    """
    there = expected > 0
    mean = expected[there]
    if mean.size == 0:
        return 1.0, 0.0
    scale = np.sqrt(mean**2 + mean.mean() * mean)
    design = np.stack([mean, mean**2], axis=1) / scale[:, None]
    (unit, per_run), _ = nnls(design, (paid[there] - mean) ** 2 / scale)
    least = float(((paid[there] - mean) ** 2).sum() / mean.sum())
    return (float(unit), float(per_run)) if unit > 0 else (max(least, 1e-9), 0.0)


def _spread(
    record: WhereRecord, shown: KindShown, groups: Grouped, terms: Sequence[str]
) -> float | None:
    """What the terms made of the columns vary by together."""
    own = [name for name in terms if record.coded.columns[name] & set(groups.columns)]
    if not own:
        return None
    variance = sum(shown.found.fitted.sd[name] ** 2 for name in own)
    return float(np.sqrt(np.expm1(variance)))


def _doubt(
    record: WhereRecord,
    groups: Grouped,
    shown: KindShown,
    expected: FloatArray,
    terms: Sequence[str],
) -> FloatArray:
    doubt = doubt_of_terms(record.coded, shown.found, groups.everywhere, without=terms)
    codes = {name: record.coded.terms[name][record.inside] for name in doubt}
    return doubt_of_levels(codes, doubt, expected, groups.codes)


def _pieces(record: WhereRecord) -> FloatArray:
    runs = record.coded.runs["pieces_inspected"]
    return np.asarray(runs.fill_null(0).to_numpy(), dtype=np.float64)


def _over(part: FloatArray, whole: FloatArray) -> FloatArray:
    return np.divide(part, whole, out=np.zeros_like(whole), where=whole > 0)
