"""Holds levels of columns against what was to be expected of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from logbook.errors import TooLittleData
from logbook.expectation import answered_for
from logbook.kernels.funnel_limits import dispersion, funnel_limits
from logbook.kernels.shrunken_ratios import GammaPrior, shrunken_ratios
from logbook.questions.where.grouping import Grouped, all_together, grouped
from logbook.questions.where.record import WhereRecord
from logbook.questions.where.result import FunnelLine, Level, WhereResult
from logbook.questions.where.setups import setups_of
from logbook.questions.where.spoilage import cost_per_1000_stitches, spoilage
from logbook.questions.where.sums import Sums, sums_of
from logbook.runs.factors import factor_label
from logbook.shop import Shop

MOST_NAMED = 40
"""Levels that are kept of those of every column."""
FUNNEL_LEVELS, FUNNEL_POINTS = (0.95, 0.998), 60
UNKNOWN_RATIO = GammaPrior(0.5, 1e-9, math.nan)
"""Of the whole, which has nothing to be drawn towards (Jeffreys' prior of a Poisson rate)."""


def analyse(record: WhereRecord, *, by: Sequence[str], shop: Shop) -> WhereResult:
    """Hold every level against what was to be expected.

    Parameters
    ----------
    record
        Runs with what they showed, were to be expected to show, and cost.
    by
        One or two columns; none to go through all of them.
    shop
        Currency, and what may be spoiled.

    Returns
    -------
    WhereResult
        Levels by money above expectation; where no column is named, the levels of all of them that
        lie surely above or below, and no more than ``MOST_NAMED``.
    """
    total = _total(record)
    if not by:
        levels = _of_every_column(record)
        return _result(record, total, levels, shop)
    groups = grouped(record.coded.runs, by, record.inside)
    terms = answered_for(record.coded, by, groups.everywhere)
    sums = sums_of(record, groups, terms)
    levels = _with_costs(record, groups, _judged(sums, groups, None), shop)
    return replace(
        _result(record, total, levels, shop),
        by=tuple(by),
        within=_within(record, by, terms),
        setups=setups_of(record, groups),
        funnel=_funnel(sums),
    )


def _result(record: WhereRecord, total: Level, levels: Sequence[Level], shop: Shop) -> WhereResult:
    paid = total.money
    return WhereResult(
        defect=record.defect,
        kind=None if record.of_money else record.kinds[0].kind,
        by=(),
        since=record.since,
        until=record.until,
        currency=shop.currency,
        levels=tuple(
            replace(
                each,
                share_of_money=each.money / paid if paid > 0 else math.nan,
                labels=record.labels,
            )
            for each in sorted(levels, key=_rank)
        ),
        total=total,
        setups=(),
        within=(),
        funnel=(),
        unpriced=sum(
            float(each.found.observed[record.inside & ~each.paid_known].sum())
            for each in record.kinds
        ),
        costs_assumed=shop.costs_assumed,
        labels=record.labels,
    )


def stake(level: Level) -> float:
    """Money above expectation, like for like; pieces where money is not known."""
    if math.isnan(level.money_above):
        return level.expected * (level.shrunk_ratio - 1.0)
    return level.money_above


def _rank(level: Level) -> tuple[bool, float, float, str]:
    at_stake = stake(level)
    return math.isnan(at_stake), -at_stake, -level.observed, level.name


def _within(record: WhereRecord, by: Sequence[str], terms: Sequence[str]) -> tuple[str, ...]:
    """Labels of the columns that lie within the levels."""
    inside = {one for name in terms for one in record.coded.columns[name]} - set(by)
    return tuple(sorted({factor_label(each).lower() for each in inside}))


def _funnel(sums: Sums) -> tuple[FunnelLine, ...]:
    """Limits of luck, over all that was expected of levels."""
    there = sums.expected > 0
    if there.sum() < 2:
        return ()
    counts, expected = sums.observed[there] / sums.unit, sums.expected[there] / sums.unit
    widened = 1.0 + sums.luck[there] * expected
    spread = dispersion(observed=counts / widened, expected=expected / widened).tau_squared
    usual = float(np.average(widened, weights=expected))
    least, most = float(expected.min()), float(expected.max())
    across = np.geomspace(max(least * 0.8, most * 1e-4), most * 1.2, FUNNEL_POINTS)
    lines = []
    for level in FUNNEL_LEVELS:
        limits = funnel_limits(expected=across, level=level, tau_squared=spread, widened=usual)
        ends = (across * sums.unit, limits.lower, limits.upper)
        lines.append(FunnelLine(level, *(tuple(each.tolist()) for each in ends)))
    return tuple(lines)


def _total(record: WhereRecord) -> Level:
    whole = all_together(record.coded.runs, record.inside)
    sums = sums_of(record, whole, ())
    if not sums.expected.sum() > 0:
        raise TooLittleData(
            "Nothing was to be expected here: no run with what is asked about says what it cost.",
            "Write down pieces spoiled and rework minutes, or ask about any defect.",
            needed=1,
            got=0,
            unit="runs",
        )
    [level] = _judged(sums, whole, UNKNOWN_RATIO)
    # The whole has nothing to be drawn towards.
    return replace(
        level,
        shrunk_ratio=level.ratio,
        money_above=level.money_expected * (level.ratio - 1.0),
        share_of_money=1.0 if level.money > 0 else math.nan,
    )


def _with_costs(
    record: WhereRecord, groups: Grouped, levels: Sequence[Level], shop: Shop
) -> list[Level]:
    """The levels with what was spoiled, and what a thousand stitches cost."""
    runs = record.coded.runs.filter(record.inside)
    spoiled = spoilage(runs, groups, shop.allowances)
    stitches = cost_per_1000_stitches(runs, groups, shop.costs)
    place = {id(level): at for at, level in enumerate(groups.levels)}
    return [
        replace(
            each,
            spoilage=spoiled[place[id(each.level)]],
            cost_per_1000_stitches=float(stitches[place[id(each.level)]]),
        )
        for each in levels
    ]


def _of_every_column(record: WhereRecord) -> list[Level]:
    """Levels of all columns that surely lie above or below, most money first."""
    found: list[Level] = []
    for column in record.columns:
        groups = grouped(record.coded.runs, (column,), record.inside)
        if len(groups.levels) > 1:
            terms = answered_for(record.coded, groups.columns, groups.everywhere)
            every = _judged(sums_of(record, groups, terms), groups, None)
            # What nobody wrote down is no place to look.
            told = [each for each in every if each.level[column] is not None]
            found += [each for each in told if each.above or each.below]
    return sorted(found, key=lambda each: -abs(stake(each)))[:MOST_NAMED]


def _judged(sums: Sums, groups: Grouped, prior: GammaPrior | None) -> list[Level]:
    """Every level with its ratios; ``prior`` only where there is nothing to be drawn towards."""
    there = sums.runs > 0
    ratios = shrunken_ratios(
        observed=sums.observed[there] / sums.unit,
        expected=sums.expected[there] / sums.unit,
        luck=sums.luck[there],
        prior=prior,
        spread=sums.spread,
    )
    levels = []
    for place, at in enumerate(np.flatnonzero(there)):
        expected_money = float(sums.money_expected[at])
        levels.append(
            Level(
                level=groups.levels[at],
                runs=int(sums.runs[at]),
                pieces_inspected=float(sums.pieces[at]),
                exposure=float(sums.exposure[at]),
                observed=float(sums.observed[at]),
                expected=float(sums.expected[at]),
                ratio=float(ratios.ratio[place]),
                shrunk_ratio=float(ratios.shrunken[place]),
                interval=(float(ratios.lower[place]), float(ratios.upper[place])),
                chance_above=float(ratios.chance_above[place]),
                money=float(sums.money[at]),
                money_expected=expected_money,
                money_above=expected_money * (float(ratios.shrunken[place]) - 1.0),
                share_of_money=math.nan,
            )
        )
    return levels
