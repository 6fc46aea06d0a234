"""How often the judging of trials is right, in shops whose truth is known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from invented_trials import TrialCounts, TrialWorld, centre_of, sew
from scipy.special import ndtr

from logbook.kernels.trials import Judgement, judge, watch

Rates = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Measured:
    """Shares of trials, in per cent, and the average number of pairs sewn."""

    called_different: float
    by_signs: float
    pooled: float
    covered: float
    no_worse: float
    pairs: float


def judge_trials(
    world: TrialWorld,
    *,
    rates: Rates,
    pairs: int,
    pieces: int,
    trials: int,
    lots: int = 1,
    lots_counted: bool = False,
    margin: float | None = None,
    draws: int = 2000,
    seed: int = 1,
) -> Measured:
    """Sew and judge trials of a fixed number of pairs."""
    random = np.random.default_rng([seed, pairs, pieces, lots])
    centres = (centre_of(world, rates[0]), centre_of(world, rates[1]))
    sewn = [
        sew(random, world, centres=centres, pairs=pairs, pieces=pieces, lots=lots)
        for _ in range(trials)
    ]
    found = [
        judge(
            **each.as_arguments(),
            margin=margin,
            lot_sd=world.lot_sd if lots_counted else 0.0,
            lots_each=(lots, lots),
            draws=draws,
        )
        for each in sewn
    ]
    return Measured(
        called_different=_share([each.p_value < 0.05 for each in found]),
        by_signs=_share([each.sign_flip_p_value < 0.05 for each in found]),
        pooled=_share([pooled_p_value(each) < 0.05 for each in sewn]),
        covered=_share([_holds(each, rates) for each in found]),
        no_worse=_share([each.verdict in ("no_worse", "better") for each in found]),
        pairs=pairs,
    )


def watch_trials(
    world: TrialWorld,
    *,
    rates: Rates,
    pairs: int,
    pieces: int,
    looks: Sequence[int],
    trials: int,
    bounded: bool,
    seed: int = 1,
) -> Measured:
    """Sew trials that are looked at as they go and end at the first clear difference."""
    random = np.random.default_rng([seed, pairs, pieces, 99])
    centres = (centre_of(world, rates[0]), centre_of(world, rates[1]))
    ends: list[tuple[Judgement, int]] = []
    for _ in range(trials):
        whole = sew(random, world, centres=centres, pairs=pairs, pieces=pieces)
        ends.append(_watched(whole, looks, pairs, bounded=bounded))
    return Measured(
        called_different=_share([each.verdict in ("better", "worse") for each, _ in ends]),
        by_signs=math.nan,
        pooled=math.nan,
        covered=_share([_holds(each, rates) for each, _ in ends]),
        no_worse=math.nan,
        pairs=float(np.mean([at for _, at in ends])),
    )


def _watched(
    whole: TrialCounts, looks: Sequence[int], planned: int, *, bounded: bool
) -> tuple[Judgement, int]:
    for place, at in enumerate(looks):
        so_far = whole.first(at).as_arguments()
        if bounded:
            found = watch(
                **so_far,
                planned_pairs=planned,
                earlier_looks=looks[:place],
                later_looks=looks[place + 1 :],
                draws=1,
            ).judgement
        else:
            found = judge(**so_far, draws=1)
        if found.verdict in ("better", "worse"):
            break
    return found, at


def pooled_p_value(trial: TrialCounts) -> float:
    """Of the test that takes every piece for itself, as if there were no runs."""
    n0, n1 = trial.pieces_now.sum(), trial.pieces_changed.sum()
    y0, y1 = trial.count_now.sum(), trial.count_changed.sum()
    rate = (y0 + y1) / (n0 + n1)
    if rate in (0, 1):
        return 1.0
    error = math.sqrt(rate * (1 - rate) * (1 / n0 + 1 / n1))
    return float(2 * ndtr(-abs(y1 / n1 - y0 / n0) / error))


def _holds(found: Judgement, rates: Rates) -> bool:
    return found.lower <= rates[1] - rates[0] <= found.upper


def _share(hits: Sequence[bool]) -> float:
    return 100 * float(np.mean(hits))
